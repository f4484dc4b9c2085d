#include "cli/page/page.h"

#include "base/ranges.h"
#include "board/board.h"
#include "cli/message/figures.h"
#include "cli/message/message.h"
#include "cli/prop/prop.h"
#include "container/container.h"
#include "pack/pack.h"
#include "store/store.h"

#include <stdlib.h>
#include <string.h>

/* What it is made from */

/// Make a digest that of itself and of more data.
static void
digest_add(uint64_t* digest, const void* data, size_t n_bytes) {
  const uint64_t both[] = {*digest, vw_digest(data, n_bytes)};
  *digest = vw_digest(both, sizeof(both));
}

static void
digest_text(uint64_t* digest, const char* text) {
  digest_add(digest, text ? text : "", text ? strlen(text) + 1U : 1U);
}

/// All that is told of a sound, and what its files hold.
static void
digest_sound(uint64_t* digest, const PackRun* run, const VwPackSound* sound) {
  char* const text = tryout_report_of(run, sound);
  char* const with = tryout_made_with(run, sound);
  digest_text(digest, text);
  digest_text(digest, with);
  for (size_t i = 0; i < sound->n_files; ++i) {
    digest_add(digest, &sound->files[i].digest, sizeof(sound->files[i].digest));
  }
  free(with);
  free(text);
}

static void
digest_run(uint64_t* digest, const PackRun* run) {
  const VwPack* const     pack = &run->pack;
  const VwBoard* const    board = run->board;
  const VwPackSums* const sums = &pack->sums;
  const double            numbers[] = {
               board->gap_ms, board->delay_ms, board->press_min_ms, sums->loudness_lufs};
  const uint64_t counts[] = {board->repeat,
                             board->release,
                             board->capacity_bytes,
                             board->cluster_bytes,
                             sums->n_bytes_on_card,
                             sums->n_files,
                             sums->n_bytes_over,
                             run->written};
  digest_text(digest, board->name);
  for (size_t i = 0; i < run->prop->lamp.n_options; ++i) {
    digest_text(digest, run->prop->lamp.options[i].option->name);
    digest_text(digest, run->prop->lamp.options[i].value);
  }
  digest_add(digest, numbers, sizeof(numbers));
  digest_add(digest, counts, sizeof(counts));
  for (size_t i = 0; i < pack->n_sounds; ++i) {
    digest_sound(digest, run, &pack->sounds[i]);
  }
}

/// A key for all that the page is made from; never 0.
static uint64_t
key_of(const TryoutPack* shown) {
  uint64_t key = 0;
  digest_text(&key, vw_version());
  digest_text(&key, tryout_before);
  digest_text(&key, tryout_after);
  digest_text(&key, shown->title);
  char* const made_by = tryout_command_whole("pack", shown->settings);
  digest_text(&key, made_by);
  free(made_by);
  for (size_t i = 0; i < shown->n_runs; ++i) {
    digest_run(&key, &shown->runs[i]);
  }
  return key ? key : 1U;
}

/* The page */

/// The corner of the first sound that is made for a small speaker, or the
/// usual one.
static double
speaker_of(const TryoutPack* shown) {
  const Prop* const prop = shown->runs[0].prop;
  for (size_t i = 0; i < prop->n_sounds; ++i) {
    const double hz = shown->runs[0].wishes
                        ? shown->runs[0].wishes[i].options.level.speaker_hz
                        : 0.0;
    if (hz > 0.0) {
      return hz;
    }
  }
  return VW_SPEAKER_USUAL_HZ;
}

static bool
begin(const TryoutPack* shown, TryoutPage* page, VwPour* pour) {
  TryoutBoard* const boards = calloc(shown->n_runs, sizeof(TryoutBoard));
  if (!boards) {
    return false;
  }
  for (size_t i = 0; i < shown->n_runs; ++i) {
    const PackRun* const run = &shown->runs[i];
    boards[i] =
      (TryoutBoard){.board = run->board,
                    .known = true,
                    .sums = run->written ? &run->pack.sums : NULL,
                    .error = run->written ? NULL : "Its pack was not made."};
  }
  char* const      made_by = tryout_command_whole("pack", shown->settings);
  const TryoutHead head = {.title = shown->title ? shown->title : "",
                           .made_by = made_by,
                           .boards = boards,
                           .n_boards = shown->n_runs,
                           .speaker_hz = speaker_of(shown)};
  tryout_page_begin(page, &head, pour);
  free(made_by);
  free(boards);
  return true;
}

/// Add the sounds of a pack. False where something interrupts.
static bool
add_run(const TryoutPack* shown, size_t index, TryoutPage* page) {
  const PackRun* const run = &shown->runs[index];
  const size_t         n = run->written ? run->pack.n_sounds : 0U;
  for (size_t i = 0; i < n; ++i) {
    if (page_file_is_interrupted()) {
      return false;
    }
    tryout_pack_sound_add(run, index, &run->pack.sounds[i], page);
  }
  return true;
}

static VwStatus
write_all(const TryoutPack* shown, uint64_t key, PageFile* file) {
  TryoutPage page = {.n_heard = 0};
  bool       good = begin(shown, &page, file->pour);
  if (!good) {
    (void)page_file_end(file, false);
    return VW_NO_MEMORY;
  }
  for (size_t i = 0; good && i < shown->n_runs; ++i) {
    good = add_run(shown, i, &page);
  }
  const VwStatus st = tryout_page_end(&page, key);
  const VwStatus ended = page_file_end(file, good && !st);
  return st ? st : ended;
}

/// Tell where the page is.
static void
tell(const TryoutPack* shown, bool same) {
  const Settings* const settings = shown->settings;
  if (!settings->quiet && !settings->json) {
    char* const safe = text_safe(shown->path);
    printf("%s: %s\n",
           safe ? safe : "?",
           same ? "as it was" : "open it in a browser to try the sounds");
    free(safe);
  }
}

static bool
is_any_written(const TryoutPack* shown) {
  for (size_t i = 0; i < shown->n_runs; ++i) {
    if (shown->runs[i].written) {
      return true;
    }
  }
  return false;
}

bool
tryout_pack_write(const TryoutPack* shown) {
  if (!is_any_written(shown)) {
    return true;
  }
  const uint64_t key = key_of(shown);
  const bool     same = tryout_page_key(shown->path) == key;
  PageFile       file = {.pour = NULL};
  VwStatus       st =
    same ? VW_OK : page_file_begin(shown->path, shown->settings, &file);
  st = st || same ? st : write_all(shown, key, &file);
  if (st) {
    say_status(shown->path, st);
  } else {
    tell(shown, same);
  }
  return !st;
}

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
  Settings                 settings = *work->run->settings;
  prop_lamp(work->run->prop, &settings);
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
                                   .settings = &settings,
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
