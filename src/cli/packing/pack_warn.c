#include "cli/message/say.h"
#include "cli/packing/pack_report.h"
#include "cli/packing/pack_sound.h"
#include "cli/prop/prop.h"
#include "pack/pack.h"

#include <stdlib.h>
#include <string.h>

// What is said of so many sounds is said of each.
#define EACH_MOST 2U

// How much of the names of more is told.
#define NAMES_COLUMNS 60U

// More than there are kinds of warnings.
#define KINDS_MOST 32U

/* Warnings */

/// What is said of one sound.
typedef struct {
  const VwPackSound* sound;
  const char*        brief; ///< By which its kind is known.
  char*              text;  ///< Owned.
} Told;

/// All that is said, in the order of the sounds.
typedef struct {
  Told*   told; ///< Owned.
  size_t  n_told;
  size_t* first; ///< Where what is said of each sound begins. Owned.
} All;

/// Whether something of a take is told already, of the first sound made of it;
/// of that one itself nothing is yet.
static bool
is_told(const All* all, const VwPackSound* sound, const Warning* warning) {
  const size_t first = sound->family_of;
  for (size_t i = all->first[first]; i < all->first[first + 1U]; ++i) {
    if (warning->take && all->told[i].brief == warning->brief) {
      return true;
    }
  }
  return false;
}

/// Take over what a report says of the sound at `index`. False without memory.
static bool
take_over(All* all, const PackReport* pack, size_t index, Report* report) {
  const VwPackSound* const sound = &pack->pack->sounds[index];
  Told* const              grown =
    realloc(all->told, (all->n_told + report->n_warnings + 1U) * sizeof(Told));
  if (!grown) {
    return false;
  }
  all->told = grown;
  for (size_t i = 0; i < report->n_warnings; ++i) {
    Warning* const warning = &report->warnings[i];
    if (!is_told(all, sound, warning)) {
      grown[all->n_told++] = (Told){sound, warning->brief, warning->text};
      warning->text = NULL;
    }
  }
  all->first[index + 1U] = all->n_told;
  return true;
}

static bool
find_all(const PackReport* report, All* all) {
  all->first = calloc(report->pack->n_sounds + 1U, sizeof(size_t));
  bool good = all->first != NULL;
  for (size_t i = 0; good && i < report->pack->n_sounds; ++i) {
    SoundReport made;
    good = sound_report_init(report, &report->pack->sounds[i], &made) &&
           take_over(all, report, i, &made.report);
    sound_report_clear(&made);
  }
  return good;
}

/// Names of the sounds of a kind, from the first on, as many as there is room
/// for. To be freed.
static char*
names_of(const All* all, size_t first, size_t n) {
  const char* const brief = all->told[first].brief;
  char*  names = text_format("%s", all->told[first].sound->wish->name);
  size_t n_named = 1;
  for (size_t i = first + 1U; names && i < all->n_told; ++i) {
    if (all->told[i].brief != brief) {
      continue;
    }
    char* const more =
      text_format("%s, %s", names, all->told[i].sound->wish->name);
    if (!more || strlen(more) > NAMES_COLUMNS) {
      free(more);
      break;
    }
    free(names);
    names = more;
    ++n_named;
  }
  if (names && n_named < n) {
    char* const more = text_format("%s and %zu more", names, n - n_named);
    free(names);
    names = more;
  }
  return names;
}

/// Say what there is to say of a kind whose first sound is known.
static void
say_kind(const PackReport* report, const All* all, size_t first) {
  const char* const brief = all->told[first].brief;
  size_t            n = 0;
  for (size_t i = first; i < all->n_told; ++i) {
    n += all->told[i].brief == brief ? 1U : 0U;
  }
  if (n > EACH_MOST) {
    char* const names = names_of(all, first, n);
    say(report->pack->options.board->name,
        "warning: %s, in %zu sounds: %s",
        brief,
        n,
        names ? names : "");
    free(names);
    return;
  }
  for (size_t i = first; i < all->n_told; ++i) {
    if (all->told[i].brief == brief) {
      say(all->told[i].sound->wish->name, "warning: %s", all->told[i].text);
    }
  }
}

/// Say all, kind by kind.
static void
say_all(const PackReport* report, const All* all) {
  const char* said[KINDS_MOST] = {NULL};
  for (size_t i = 0; i < all->n_told; ++i) {
    size_t k = 0;
    while (k < KINDS_MOST && said[k] && said[k] != all->told[i].brief) {
      ++k;
    }
    if (k < KINDS_MOST && !said[k]) {
      said[k] = all->told[i].brief;
      say_kind(report, all, i);
    }
  }
}

static void
warn_of_sounds(const PackReport* report) {
  All all = {0};
  if (find_all(report, &all)) {
    say_all(report, &all);
  }
  for (size_t i = 0; i < all.n_told; ++i) {
    free(all.told[i].text);
  }
  free(all.told);
  free(all.first);
}

/// Slots that were given out now and stand in no file.
static void
warn_of_slots(const PackReport* report) {
  const Prop* const prop = report->prop;
  if (!report->settings->pack.write_prop && prop_slots_are_given(prop)) {
    say(report->settings->takes[0],
        prop->path ? "warning: the slots may change when a sound is added: "
                     "write those of the table down, as in slot = 1"
                   : "warning: the slots may change when a take is added: "
                     "--write-prop writes them down");
  }
}

void
pack_report_warn(const PackReport* report) {
  const VwPack* const pack = report->pack;
  warn_of_slots(report);
  if (pack->unfinished) {
    say(pack->options.folder,
        "warning: the last run was stopped on its way: the files that it had "
        "finished are used");
  }
  warn_of_sounds(report);
}

/* Too big */

static const char*
bits_of(VwEncoding encoding) {
  static const char* const words[] = {[VW_ENCODING_U8] = "8",
                                      [VW_ENCODING_S16] = "16",
                                      [VW_ENCODING_S24] = "24",
                                      [VW_ENCODING_FLOAT] = "float"};
  return words[encoding];
}

/// What a change is, in words. To be freed.
static char*
words_of(const VwPackChange* change) {
  switch (change->kind) {
    case VW_PACK_RATE:
      return text_format("a sample rate of %u Hz (sample-rate = %u)",
                         change->rate_hz,
                         change->rate_hz);
    case VW_PACK_ENCODING:
      return text_format("%s bits (bits = %s)",
                         bits_of(change->encoding),
                         bits_of(change->encoding));
    case VW_PACK_CHANNELS:
      return text_format("one channel (channels = 1)");
    case VW_PACK_CYCLE:
      return text_format("loops of fewer shots (shots = 1)");
    default:
      return text_format("only what the speaker can play of each (--fit)");
  }
}

static void
say_changes(const PackReport* report) {
  const VwPackSums* const sums = &report->pack->sums;
  const char* const       board = report->pack->options.board->name;
  for (size_t i = 0; i < sums->n_changes; ++i) {
    const VwPackChange* const change = &sums->changes[i];
    char                      size[24];
    char* const               words = words_of(change);
    say(board,
        "with %s: about %s, %s",
        words ? words : "a change",
        pack_size(size, change->n_bytes_on_card),
        change->fits ? "which fits" : "still too big");
    free(words);
  }
}

bool
pack_report_too_big(const PackReport* report) {
  const VwPack* const     pack = report->pack;
  const VwPackSums* const sums = &pack->sums;
  const char* const       board = pack->options.board->name;
  char                    over[24];
  char                    all[24];
  char                    capacity[24];
  if (sums->n_files_over) {
    say(board,
        "%zu files too many, it takes %u: leave sounds out",
        sums->n_files_over,
        pack->options.board->files_max);
  }
  if (sums->n_bytes_over) {
    say(board,
        "%s too big: %s of files, %s of room: leave sounds out, or make them "
        "smaller",
        pack_size(over, sums->n_bytes_over),
        pack_size(all, sums->n_bytes_on_card),
        pack_size(capacity, pack->options.board->capacity_bytes));
    say_changes(report);
  }
  return sums->n_bytes_over || sums->n_files_over;
}
