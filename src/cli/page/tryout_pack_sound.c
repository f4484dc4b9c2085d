#include "cli/page/tryout_pack_sound.h"

#include "cli/message/status.h"
#include "cli/packing/pack_commands.h"
#include "cli/page/tryout_sounds.h"
#include "container/container.h"
#include "pack/pack.h"

#include <stdlib.h>

/// A sound on its way into the page.
typedef struct {
  const PackReport*  report;
  size_t             board;
  const VwPackSound* sound;
  TryoutTexts        texts;
  TryoutPage*        page;
} Work;

/* Texts */

/// What a function prints. To be freed; NULL where it fails.
static char*
printed(bool (*print)(const PackReport*, const VwPackSound*, FILE*),
        const PackReport*  report,
        const VwPackSound* sound) {
  char*       text = NULL;
  size_t      n = 0;
  FILE* const out = open_memstream(&text, &n);
  if (!out) {
    return NULL;
  }
  const bool good = print(report, sound, out);
  if (fclose(out) || !good) {
    free(text);
    return NULL;
  }
  return text;
}

TryoutTexts
tryout_texts_of(const PackReport* report, const VwPackSound* sound) {
  // A page may go elsewhere, and its folder does not go with it.
  PackReport named = *report;
  named.names_only = true;
  return (TryoutTexts){.report = printed(pack_report_json_sound, &named, sound),
                       .made_by = printed(pack_commands_one, &named, sound)};
}

void
tryout_texts_clear(TryoutTexts* texts) {
  free(texts->report);
  free(texts->made_by);
  *texts = (TryoutTexts){0};
}

/* Files */

/// How the board's files are wrapped.
static VwWrapping
wrapping_of(const Work* work) {
  VwWrapping wrapping = {.container =
                           work->report->pack->options.board->container,
                         .format = work->sound->options.format};
  wrapping.format.rate_hz = work->sound->family.format.rate_hz;
  return wrapping;
}

/// The encoding in which the page has the values of the files exactly, or more
/// finely than they were ever heard: those of Ogg are no codes.
static VwEncoding
encoding_of(const Work* work) {
  return work->report->pack->options.board->container == VW_CONTAINER_OGG
           ? VW_ENCODING_S24
           : work->sound->family.format.encoding;
}

static VwStatus
read_file(const Work* work, const VwPackFile* file, TryoutSounds* sounds) {
  const VwWrapping wrapping = wrapping_of(work);
  char* const      path =
    text_format("%s/%s", work->report->pack->options.folder, file->name);
  VwStatus st =
    path
      ? vw_read_made(path, &wrapping, tryout_sounds_place(sounds, file->part))
      : VW_NO_MEMORY;
  if (!st && work->sound->family.form == VW_FORM_LOOP_POINTS &&
      file->part == VW_PART_LOOP &&
      !vw_read_loop_points(path, &sounds->loop_start, &sounds->loop_end)) {
    st = VW_DAMAGED;
  }
  free(path);
  return st;
}

/* Sounds */

static void
add_error(const Work* work, VwStatus status) {
  const VwSoundWish* const wish = work->sound->wish;
  char* const              message = status_message(status);
  char* const              reason = work->sound->subject && message
                                      ? text_format("%s: %s", work->sound->subject, message)
                                      : NULL;
  tryout_page_add(work->page,
                  &(TryoutSound){.board = work->board,
                                 .family = work->sound->family_of,
                                 .name = wish->name,
                                 .group = wish->group,
                                 .slot = wish->slot,
                                 .report = work->texts.report,
                                 .error = reason    ? reason
                                          : message ? message
                                                    : "failed"});
  free(reason);
  free(message);
}

static void
add_made(const Work* work) {
  const VwPackSound* const sound = work->sound;
  const VwSoundWish* const wish = sound->wish;
  TryoutSounds             sounds = {.attacks = NULL};
  uint64_t                 n_bytes = 0;
  VwStatus                 st = VW_OK;
  for (size_t i = 0; !st && i < sound->n_files; ++i) {
    st = read_file(work, &sound->files[i], &sounds);
    n_bytes += sound->files[i].n_bytes;
  }
  st = st ? st : tryout_sounds_lay(&sound->family, &sound->options, &sounds);
  if (st) {
    add_error(work, st);
  } else {
    tryout_page_add(work->page,
                    &(TryoutSound){.board = work->board,
                                   .family = sound->family_of,
                                   .settings = work->report->settings,
                                   .name = wish->name,
                                   .group = wish->group,
                                   .slot = wish->slot,
                                   .made_by = work->texts.made_by,
                                   .report = work->texts.report,
                                   .encoding = encoding_of(work),
                                   .track = sound->options.lamp_track.wanted,
                                   .single = tryout_sounds_single(&sounds),
                                   .rapid = tryout_sounds_rapid(&sounds),
                                   .n_bytes = n_bytes});
  }
  tryout_sounds_clear(&sounds);
}

void
tryout_pack_sound_add(const PackReport*  report,
                      size_t             board,
                      const VwPackSound* sound,
                      TryoutPage*        page) {
  Work work = {.report = report,
               .board = board,
               .sound = sound,
               .texts = tryout_texts_of(report, sound),
               .page = page};
  if (sound->status) {
    add_error(&work, sound->status);
  } else {
    add_made(&work);
  }
  tryout_texts_clear(&work.texts);
}
