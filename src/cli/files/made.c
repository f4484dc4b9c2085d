#include "cli/files/files.h"

#include "board/board.h"
#include "burst/burst.h"
#include "cli/message/message.h"
#include "container/container.h"
#include "store/store.h"

#include <stdlib.h>
#include <unistd.h>

/// A name for source text: that of the sound, and of the part where there are
/// others. To be freed; NULL without memory.
static char*
array_name(const Settings* settings, size_t take, VwPart part) {
  char* const sound = path_sound(settings, take);
  const bool  alone = part == VW_PART_WHOLE;
  char* const name =
    sound
      ? text_format(
          "%s%s%s", sound, alone ? "" : "_", alone ? "" : vw_part_name(part))
      : NULL;
  free(sound);
  return name;
}

static VwStatus
wrap_piece(const MadeFrom* from,
           const VwPiece*  piece,
           const char*     name,
           VwBytes*        bytes) {
  const Settings* const settings = from->settings;
  const VwBoard* const  board = &settings->board;
  const VwWrapping      wrapping = {
         .container = settings->has_board ? board->container : VW_CONTAINER_WAV,
         .format = from->family->format,
         .loop_points = !settings->has_board || board->loop_points ||
                        board->repeat == VW_REPEAT_LOOP_POINTS,
         .name = name,
         .seed = settings->family.seed,
  };
  return vw_encode(piece, &wrapping, bytes);
}

static VwStatus
encode_piece(const MadeFrom*    from,
             const Destination* destination,
             const VwPiece*     piece,
             MadeFile*          file) {
  const Settings* const settings = from->settings;
  const size_t          take = from->first_take + piece->take;
  *file =
    (MadeFile){.part = piece->part,
               .n_frames = piece->sound.n_frames,
               .loop_start = piece->loop_start,
               .loop_end = piece->has_loop ? piece->loop_end : 0U,
               .n_channels = piece->sound.n_channels,
               .rate_hz = piece->sound.rate_hz,
               .made = vw_made_of(
                 from->family, piece->part, settings->family.burst_shots)};
  VwStatus st =
    path_of_part(destination, settings, take, piece->part, &file->path);
  char* const name = st ? NULL : array_name(settings, take, piece->part);
  if (!st && !name) {
    st = VW_NO_MEMORY;
  }
  st = st ? st : wrap_piece(from, piece, name, &file->bytes);
  file->block_frames = st ? 0U : vw_ogg_block_frames(&file->bytes);
  file->whole_blocks = file->block_frames && vw_ogg_is_whole(&file->bytes);
  free(name);
  return st;
}

VwStatus
made_files_encode(const MadeFrom*    from,
                  const Destination* destination,
                  MadeFiles*         made) {
  const VwFamily* const family = from->family;
  made->n_files = 0;
  made->files = calloc(family->n_pieces, sizeof(MadeFile));
  VwStatus st = made->files ? VW_OK : VW_NO_MEMORY;
  for (size_t i = 0; !st && i < family->n_pieces; ++i) {
    if (settings_write(from->command, from->settings, family->pieces[i].part)) {
      st = encode_piece(
        from, destination, &family->pieces[i], &made->files[made->n_files++]);
    }
  }
  return st;
}

void
made_files_clear(MadeFiles* made) {
  if (made) {
    for (size_t i = 0; i < made->n_files; ++i) {
      free(made->files[i].path);
      vw_bytes_clear(&made->files[i].bytes);
    }
    free(made->files);
    vw_bytes_clear(&made->picture);
    *made = (MadeFiles){0};
  }
}

/* Write */

static VwWriteOptions
write_options(const Settings* settings) {
  return (VwWriteOptions){.force = settings->force,
                          .dry_run = settings->dry_run,
                          .takes = settings->takes,
                          .n_takes = settings->n_takes + settings->n_ends};
}

static VwStatus
write_files(const MadeFiles* made, const Settings* settings, size_t* at) {
  const VwWriteOptions options = write_options(settings);
  VwOutput* const      outputs = calloc(made->n_files + 1U, sizeof(VwOutput));
  if (!outputs) {
    return VW_NO_MEMORY;
  }
  for (size_t i = 0; i < made->n_files; ++i) {
    outputs[i] = (VwOutput){.path = made->files[i].path,
                            .bytes = made->files[i].bytes,
                            .made = made->files[i].made,
                            .is_take = made->are_takes};
  }
  outputs[made->n_files] =
    (VwOutput){.path = settings->plot, .bytes = made->picture};
  const VwStatus st =
    vw_write(outputs, made->n_files + (settings->plot ? 1U : 0U), &options, at);
  free(outputs);
  return st;
}

VwStatus
made_picture_write(const VwBytes* picture, const Settings* settings) {
  const VwOutput       output = {.path = settings->plot, .bytes = *picture};
  const VwWriteOptions options = write_options(settings);
  size_t               at = 0;
  return settings->plot ? vw_write(&output, 1U, &options, &at) : VW_OK;
}

static VwStatus
open_and_write(const MadeFiles* made,
               const Settings*  settings,
               Destination*     destination,
               size_t*          at) {
  if (settings->dry_run && destination->kind == TO_FOLDER &&
      !vw_path_is_folder(destination->path)) {
    // Nothing can be in the way in a folder still to be made.
    *at = made->n_files;
    return made_picture_write(&made->picture, settings);
  }
  VwStatus st = destination_open(destination);
  st = st ? st : write_files(made, settings, at);
  if (st) {
    destination_close(destination);
  }
  return st;
}

VwStatus
made_files_write(const MadeFiles* made,
                 const Settings*  settings,
                 Destination*     destination,
                 size_t*          at) {
  if (destination->kind == TO_STDOUT) {
    const VwStatus st = made_picture_write(&made->picture, settings);
    *at = st ? made->n_files : 0U;
    return st || settings->dry_run
             ? st
             : vw_file_status(vw_file_add(STDOUT_FILENO,
                                          made->files[0].bytes.data,
                                          made->files[0].bytes.n_bytes));
  }
  // What interrupts the program waits until the files are whole or gone.
  VwSignals signals;
  vw_signals_hold(&signals);
  const VwStatus st = open_and_write(made, settings, destination, at);
  vw_signals_release(&signals);
  return st;
}
