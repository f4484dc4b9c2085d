#include "pack_report.h"

#include "report.h"
#include "say.h"

#include <math.h>
#include <stdlib.h>

// A fire rate that is further off is heard, or seen by a lamp of its own: that
// is 45 ms away (Rec. ITU-R BT.1359-1) after 9 s (closed form).
#define ERROR_MOST_PPM 5000.0

/* Warnings */

/// Add a text, which is taken over.
static void
add(PackWarnings* warnings, char* text) {
  if (text && warnings->n < PACK_WARNINGS_MOST) {
    warnings->texts[warnings->n++] = text;
  } else {
    free(text);
  }
}

void
pack_warnings_find(const VwBoard*     board,
                   const VwPackSound* sound,
                   PackWarnings*      warnings) {
  const VwPlan* const plan = &sound->family.plan;
  warnings->n = 0;
  if (sound->status || sound->wish->make != VW_MAKE_LOOP) {
    return;
  }
  if (plan->uneven) {
    add(warnings, report_gap_warning(plan));
  }
  if (!plan->uneven && fabs(plan->error_ppm) > ERROR_MOST_PPM) {
    add(warnings,
        text_format("it fires %.2f times per second, %.1f %% off what was "
                    "asked: the board's limits allow nothing nearer",
                    plan->fire_rate_per_s,
                    fabs(plan->error_ppm) / 1e4));
  }
  if (board->container == VW_CONTAINER_OGG) {
    add(warnings,
        text_format("a loop in Ogg: some players add a pause at both ends, so "
                    "listen to it on the board"));
  }
}

void
pack_warnings_clear(PackWarnings* warnings) {
  for (size_t i = 0; i < warnings->n; ++i) {
    free(warnings->texts[i]);
  }
  warnings->n = 0;
}

/// Slots that were given out now and stand in no file.
static void
warn_of_slots(const PackReport* report) {
  const Prop* const prop = report->prop;
  for (size_t i = 0; !prop->path && i < prop->n_sounds; ++i) {
    if (prop->sounds[i].keys.slot) {
      say(report->settings->takes[0],
          "warning: the slots may change when a take is added: "
          "--write-prop writes them down");
      return;
    }
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
  for (size_t i = 0; i < pack->n_sounds; ++i) {
    const VwPackSound* const sound = &pack->sounds[i];
    PackWarnings             warnings = {.n = 0};
    pack_warnings_find(pack->options.board, sound, &warnings);
    for (size_t j = 0; j < warnings.n; ++j) {
      say(sound->wish->name, "warning: %s", warnings.texts[j]);
    }
    pack_warnings_clear(&warnings);
  }
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
