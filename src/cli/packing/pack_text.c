#include "base/text.h"
#include "board/board.h"
#include "cli/message/caution.h"
#include "cli/message/line.h"
#include "cli/message/text.h"
#include "cli/message/words.h"
#include "cli/packing/pack_report.h"
#include "cli/report/overrun.h"
#include "cli/report/report.h"
#include "pack/pack.h"
#include "store/store.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

// Columns of a sound's name in the table.
#define NAME_COLUMNS 26

const char*
pack_size(char text[24], uint64_t n_bytes) {
  static const char* const units[] = {"bytes", "kB", "MB", "GB", "TB"};
  double                   size = (double)n_bytes;
  size_t                   i = 0;
  // What would be rounded to 1000 is one of the next unit.
  while (size >= 999.95 && i + 1U < sizeof(units) / sizeof(units[0])) {
    size /= 1000.0;
    ++i;
  }
  (void)snprintf(text, 24, i ? "%.1f %s" : "%.0f %s", size, units[i]);
  return text;
}

/* Names */

/// Print a name in so many columns, cut short where it has to be.
static void
print_name(const char* name, FILE* out) {
  char* const safe = text_safe(name);
  const char* at = safe ? safe : "?";
  int         n = 0;
  for (; *at && n < NAME_COLUMNS; ++n) {
    const unsigned n_bytes = vw_utf8_read(at, NULL);
    fprintf(out, "%.*s", (int)n_bytes, at);
    at += n_bytes ? n_bytes : 1U;
  }
  fprintf(out, "%*s", NAME_COLUMNS - n, "");
  free(safe);
}

static void
print_slot(unsigned slot, FILE* out) {
  if (slot) {
    fprintf(out, "%5u  ", slot);
  } else {
    fprintf(out, "%5s  ", "-");
  }
}

/* Sounds */

static uint64_t
bytes_of(const VwPackSound* sound) {
  uint64_t n_bytes = 0;
  for (size_t i = 0; i < sound->n_files; ++i) {
    n_bytes += sound->files[i].n_bytes;
  }
  return n_bytes;
}

/// How long a sound goes on after the trigger is let go.
static void
print_overrun(const VwBoard* board, const VwPackSound* sound, FILE* out) {
  Overrun overrun = {0};
  for (size_t i = 0; i < sound->n_files; ++i) {
    overrun_add(&overrun, sound->files[i].part, sound->files[i].n_frames);
  }
  if (overrun_is_any(board)) {
    fprintf(out,
            "%6.2f s",
            (double)overrun_frames(&overrun) / sound->family.plan.rate_hz);
  } else {
    fprintf(out, "%8s", "stops");
  }
}

static void
print_sound(const PackReport* report, const VwPackSound* sound, FILE* out) {
  char                  size[24];
  const VwFamily* const family = &sound->family;
  print_slot(sound->wish->slot, out);
  print_name(sound->wish->name, out);
  if (sound->status) {
    fputs("  failed\n", out);
    return;
  }
  fprintf(out,
          " %-5s %9s",
          choice_word(words_make, (int)sound->wish->make),
          pack_size(size, bytes_of(sound)));
  if (!family->plan.shots) {
    fputs("\n", out);
    return;
  }
  fprintf(out, " %7.2f/s", family->plan.fire_rate_per_s);
  if (sound->wish->make == VW_MAKE_LOOP) {
    print_overrun(report->pack->options.board, sound, out);
  } else {
    fprintf(out, "%8s", "ends");
  }
  fprintf(out, "  %.0f ms\n", family->lamp.on_ms);
}

static void
print_sounds(const PackReport* report, FILE* out) {
  fprintf(out,
          "\n%5s  %-*s %-5s %9s %9s%8s  %s\n",
          "slot",
          NAME_COLUMNS,
          "sound",
          "what",
          "size",
          "fires",
          "release",
          "lamp on");
  for (size_t i = 0; i < report->pack->n_sounds; ++i) {
    print_sound(report, &report->pack->sounds[i], out);
  }
}

/* Files */

static void
print_files(const PackReport* report, FILE* out) {
  static const char* const fates[] = {[VW_PACK_FILE_NEW] = "new",
                                      [VW_PACK_FILE_REPLACED] = "made anew",
                                      [VW_PACK_FILE_SAME] = "as it is"};
  fprintf(out, "\n%5s  %9s  %-9s  %s\n", "slot", "size", "", "file");
  for (size_t i = 0; i < report->pack->n_sounds; ++i) {
    const VwPackSound* const sound = &report->pack->sounds[i];
    for (size_t j = 0; j < sound->n_files; ++j) {
      char        size[24];
      char* const safe = text_safe(sound->files[j].name);
      print_slot(sound->wish->slot, out);
      fprintf(out,
              "%9s  %-9s  %s\n",
              pack_size(size, sound->files[j].n_bytes),
              fates[sound->files[j].fate],
              safe ? safe : "?");
      free(safe);
    }
  }
}

/* The whole */

static void
print_heading(const PackReport* report, FILE* out) {
  const VwPack* const     pack = report->pack;
  const VwPackSums* const sums = &pack->sums;
  char                    size[24];
  char                    capacity[24];
  char* const             folder = text_safe(pack->options.folder);
  fprintf(out,
          "%s: %zu %s, %zu %s, %s",
          pack->options.board->name,
          pack->n_sounds,
          pack->n_sounds == 1U ? "sound" : "sounds",
          sums->n_files,
          sums->n_files == 1U ? "file" : "files",
          pack_size(size, sums->n_bytes_on_card));
  if (pack->options.board->capacity_bytes) {
    fprintf(
      out, " of %s", pack_size(capacity, pack->options.board->capacity_bytes));
  }
  fprintf(out, "\n  %s\n", folder ? folder : "?");
  free(folder);
}

static void
print_loudness(const PackReport* report, FILE* out) {
  const VwPackSums* const sums = &report->pack->sums;
  if (!sums->n_families) {
    return;
  }
  line_print(out,
             "loudness",
             "%.1f LUFS, reached by %zu of %zu",
             sums->loudness_lufs,
             sums->n_families - sums->n_lacking,
             sums->n_families);
  if (sums->n_lacking && sums->all_reach_lufs < sums->loudness_lufs) {
    line_print(out,
               "",
               "all reach %.1f LUFS (--all-reach): %.1f LU softer",
               sums->all_reach_lufs,
               sums->loudness_lufs - sums->all_reach_lufs);
  }
}

/// The share of what the speaker can play that a sound's sample rate keeps.
static double
kept_of(const VwBoard* board, const VwPackSound* sound) {
  double kept = 1.0;
  for (unsigned i = 0; i < board->n_sample_rates; ++i) {
    if (board->sample_rates_hz[i] == sound->options.format.rate_hz) {
      kept = sound->kept[i];
    }
  }
  return kept;
}

static void
print_lacking(const PackReport* report, FILE* out) {
  for (size_t i = 0; i < report->pack->n_sounds; ++i) {
    const VwPackSound* const sound = &report->pack->sounds[i];
    char* const              safe = text_safe(sound->wish->name);
    // What is less than that nobody hears, and is not told.
    if (!sound->status && sound->lacks_lu > 0.05 && sound->family_of == i) {
      line_print(out,
                 "softer",
                 "%s, as loud as it can be: %.1f LU less",
                 safe ? safe : "?",
                 sound->lacks_lu);
    }
    if (!sound->status && sound->rate_before_hz) {
      line_print(out,
                 "to fit",
                 "%s at %u Hz instead of %u Hz: %.1f %% is kept",
                 safe ? safe : "?",
                 sound->options.format.rate_hz,
                 sound->rate_before_hz,
                 100.0 * kept_of(report->pack->options.board, sound));
    }
    free(safe);
  }
}

static void
print_fates(const PackReport* report, FILE* out) {
  const VwPack* const     pack = report->pack;
  const VwPackSums* const sums = &pack->sums;
  if (sums->n_bytes_over || sums->n_files_over) {
    line_print(out,
               "files",
               "%zu not written: too %s",
               sums->n_files,
               sums->n_bytes_over ? "big" : "many");
  } else {
    line_print(out,
               "files",
               "%zu %s, %zu as they were",
               sums->n_other,
               report->written ? "written" : "to write",
               sums->n_same);
  }
  for (size_t i = 0; i < pack->n_old; ++i) {
    const VwPackOld* const old = &pack->old[i];
    char* const            safe = text_safe(old->name);
    line_print(out,
               old->removed ? "removed" : "left over",
               "%s%s",
               safe ? safe : "?",
               old->removed   ? ""
               : old->changed ? ": changed since it was made, it stays"
                              : ": no sound makes it now; --prune removes it");
    free(safe);
  }
}

/// How many loops have a fire rate that nobody asked for.
static void
print_chosen(const VwPack* pack, FILE* out) {
  size_t n = 0;
  for (size_t i = 0; i < pack->n_sounds; ++i) {
    const VwPackSound* const sound = &pack->sounds[i];
    n += !sound->status && sound->family.plan.shots && sound->family.plan.chosen
           ? 1U
           : 0U;
  }
  if (n) {
    line_print(out,
               "fire rate",
               "chosen for %zu, as none was given: fire-rate = 9/s in the prop",
               n);
    line_print(out, "", "file sets it, or --fire-rate 9/s that of all");
  }
}

/// The pack of the run before, where it is kept.
static void
print_before(const PackReport* report, FILE* out) {
  char* const before = text_format("%s.before", report->pack->options.folder);
  char* const safe = before ? text_safe(before) : NULL;
  if (safe && report->written && vw_path_is_folder(before)) {
    line_print(out, "kept", "the pack before, in %s", safe);
  }
  free(safe);
  free(before);
}

/// The cautions that loud sound, a prop and a lamp need, once.
static void
print_caution(const PackReport* report, FILE* out) {
  caution_lines(CAUTION_HEARING | CAUTION_LOOK_ALIKE, out);
  for (size_t i = 0; i < report->pack->n_sounds; ++i) {
    const VwPackSound* const sound = &report->pack->sounds[i];
    const unsigned           caution =
      sound->status || !sound->family.plan.shots
                  ? 0U
                  : caution_of_flashes(sound->family.lamp.pulse_hz);
    if (caution) {
      caution_lines(caution, out);
      return;
    }
  }
}

/// What to do with a pack that was made.
static void
print_next(const PackReport* report, FILE* out) {
  const VwPackOptions* const options = &report->pack->options;
  const bool                 played_from_card =
    options->board->container != VW_CONTAINER_RAW &&
    options->board->container != VW_CONTAINER_C_ARRAY;
  char* const folder = text_quoted(options->folder);
  if (report->written && played_from_card && folder) {
    fprintf(out, "Next: volleyweave deliver %s --to CARD\n", folder);
  }
  free(folder);
}

void
pack_report_text(const PackReport* report, FILE* out) {
  print_heading(report, out);
  print_loudness(report, out);
  print_lacking(report, out);
  print_fates(report, out);
  print_before(report, out);
  print_chosen(report->pack, out);
  print_caution(report, out);
  if (report->settings->dry_run) {
    print_files(report, out);
  }
  print_sounds(report, out);
  print_next(report, out);
  fputs("\n", out);
}
