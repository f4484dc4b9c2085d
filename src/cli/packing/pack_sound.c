#include "cli/packing/pack_sound.h"

#include "cli/message/status.h"
#include "cli/message/text.h"
#include "container/container.h"
#include "pack/pack.h"

#include <fcntl.h>
#include <math.h>
#include <stdlib.h>
#include <unistd.h>

// More than vw_ogg_block_frames() wants.
#define HEAD_BYTES 64U

/// Of a file that was made: the longest block that may be padded, or 0.
static unsigned
block_frames(const char* path) {
  unsigned char head[HEAD_BYTES];
  const int     fd = path ? open(path, O_RDONLY | O_CLOEXEC) : -1;
  const ssize_t n = fd < 0 ? -1 : read(fd, head, sizeof(head));
  const VwBytes bytes = {head, n > 0 ? (size_t)n : 0U};
  if (fd >= 0) {
    (void)close(fd);
  }
  return vw_ogg_block_frames(&bytes);
}

/// Where a file is. To be freed; NULL without memory.
static char*
path_of(const PackReport* report, const VwPackFile* file) {
  return report->names_only
           ? text_format("%s", file->name)
           : text_format("%s/%s", report->pack->options.folder, file->name);
}

/// The files of a sound as reports have them. To be freed; NULL without memory.
static MadeFile*
files_of(const PackReport* report, const VwPackSound* sound) {
  MadeFile* const files = calloc(sound->n_files + 1U, sizeof(MadeFile));
  for (size_t i = 0; files && i < sound->n_files; ++i) {
    const VwPackFile* const file = &sound->files[i];
    files[i] = (MadeFile){.part = file->part,
                          .path = path_of(report, file),
                          .bytes.n_bytes = (size_t)file->n_bytes,
                          .n_frames = file->n_frames,
                          .n_channels = sound->options.format.n_channels,
                          .rate_hz = sound->options.format.rate_hz};
    if (report->pack->options.board->container == VW_CONTAINER_OGG) {
      files[i].block_frames = block_frames(files[i].path);
    }
  }
  return files;
}

/// The takes of a sound as reports have them; the facts are the first one's.
static Input*
inputs_of(const VwPackSound* sound) {
  const VwSoundWish* const wish = sound->wish;
  Input* const             inputs = calloc(wish->n_takes, sizeof(Input));
  for (size_t i = 0; inputs && i < wish->n_takes; ++i) {
    inputs[i] = (Input){.path = wish->takes[i],
                        .facts = sound->facts,
                        .has_shot = !i && wish->make != VW_MAKE_WHOLE};
  }
  return inputs;
}

/// The figures of a sound; what only its making tells is unknown before.
static VwFamily
family_of(const PackReport* report, const VwPackSound* sound) {
  VwFamily family = sound->family;
  if (!report->written) {
    family.level.gain_db = sound->options.level.gain_db;
    family.level.shot_loudness_lufs = (double)NAN;
    family.level.burst_loudness_lufs = (double)NAN;
    family.level.limiting_db = (double)NAN;
    family.level.limiting_ms = (double)NAN;
    family.level.true_peak_dbtp = (double)NAN;
  }
  return family;
}

bool
sound_report_init(const PackReport*  pack,
                  const VwPackSound* sound,
                  SoundReport*       made) {
  *made = (SoundReport){
    .packed = {sound},
    .settings = {.family = sound->options,
                 .has_board = true,
                 .board = *pack->pack->options.board,
                 .json = true},
    .family = family_of(pack, sound),
    .use = {.downmix = sound->downmix, .late_start_ms = sound->late_start_ms},
    .inputs = inputs_of(sound),
    .files = files_of(pack, sound)};
  made->family.uses = &made->use;
  made->report = (Report){.command = pack->command,
                          .settings = &made->settings,
                          .inputs = made->inputs,
                          .n_inputs = sound->wish->n_takes,
                          .family = sound->status ? NULL : &made->family,
                          .packed = &made->packed,
                          .files = made->files,
                          .n_files = made->files ? sound->n_files : 0U,
                          .status = sound->status};
  if (!made->inputs || !made->files) {
    return false;
  }
  if (sound->status) {
    made->inputs[0].status = sound->status;
    made->report.message = status_message(sound->status);
    return true;
  }
  return report_warn(&made->report);
}

void
sound_report_clear(SoundReport* made) {
  for (size_t i = 0; i < made->report.n_files; ++i) {
    free(made->files[i].path);
  }
  report_clear(&made->report);
  free(made->inputs);
  free(made->files);
  *made = (SoundReport){0};
}
