#include "cli/page/tryout_pack_sound.h"

#include "cli/message/figures.h"
#include "cli/page/tryout_command.h"
#include "cli/page/tryout_sounds.h"
#include "cli/prop/prop.h"
#include "container/container.h"
#include "pack/pack.h"

#include <stdlib.h>

/// A sound on its way into the page.
typedef struct {
  const PackRun*     run;
  size_t             board;
  const VwPackSound* sound;
  const char*        text; ///< What is told of it.
  TryoutPage*        page;
} Work;

/* Texts */

char*
tryout_report_of(const PackRun* run, const VwPackSound* sound) {
  char*       text = NULL;
  size_t      n = 0;
  FILE* const out = open_memstream(&text, &n);
  // A page may go elsewhere, and its folder does not go with it.
  const bool good = out && pack_report_json_sound(run, sound, NULL, out);
  if (!out || fclose(out) || !good) {
    free(text);
    return NULL;
  }
  return text;
}

static char*
add_keys(char* line, const PropKeys* keys) {
  for (size_t i = 0; i < keys->n_options; ++i) {
    const PropOption* const option = &keys->options[i];
    char* const before = text_format(" --%s=", option->option->name);
    line = tryout_command_add(line, before ? before : " ", option->value);
    free(before);
  }
  return line;
}

char*
tryout_made_with(const PackRun* run, const VwPackSound* sound) {
  const Prop* const      prop = run->prop;
  const PropSound* const of = &prop->sounds[sound - run->pack.sounds];
  const PropOn* const    on = prop_on(prop, of, run->board->name);
  char*                  line =
    text_format("%s", choice_word(words_make, (int)sound->wish->make));
  line = add_keys(line, &of->keys);
  line = on ? add_keys(line, &on->keys) : line;
  for (size_t i = 0; i < sound->wish->n_takes; ++i) {
    line = tryout_command_add(line, " ", sound->wish->takes[i]);
  }
  return line;
}

/* Files */

/// How the board's files are wrapped.
static VwWrapping
wrapping_of(const Work* work) {
  VwWrapping wrapping = {.container = work->run->board->container,
                         .format = work->sound->options.format};
  wrapping.format.rate_hz = work->sound->family.format.rate_hz;
  return wrapping;
}

/// The encoding in which the page has the values of the files exactly, or more
/// finely than they were ever heard: those of Ogg are no codes.
static VwEncoding
encoding_of(const Work* work) {
  return work->run->board->container == VW_CONTAINER_OGG
           ? VW_ENCODING_S24
           : work->sound->family.format.encoding;
}

static VwStatus
read_file(const Work* work, const VwPackFile* file, TryoutSounds* sounds) {
  const VwWrapping wrapping = wrapping_of(work);
  char* const      path = text_format("%s/%s", work->run->folder, file->name);
  VwStatus         st =
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
                                 .report = work->text,
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
  char* const              with = tryout_made_with(work->run, sound);
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
                                   .settings = work->run->settings,
                                   .name = wish->name,
                                   .group = wish->group,
                                   .slot = wish->slot,
                                   .made_with = with,
                                   .report = work->text,
                                   .encoding = encoding_of(work),
                                   .track = sound->options.lamp_track.wanted,
                                   .single = tryout_sounds_single(&sounds),
                                   .rapid = tryout_sounds_rapid(&sounds),
                                   .n_bytes = n_bytes});
  }
  tryout_sounds_clear(&sounds);
  free(with);
}

void
tryout_pack_sound_add(const PackRun*     run,
                      size_t             board,
                      const VwPackSound* sound,
                      TryoutPage*        page) {
  char* const text = tryout_report_of(run, sound);
  const Work  work = {
     .run = run, .board = board, .sound = sound, .text = text, .page = page};
  if (sound->status) {
    add_error(&work, sound->status);
  } else {
    add_made(&work);
  }
  free(text);
}
