// What is reported of a pack: as text, as JSON, and where it is too big.

#include "cli/report/report.h"
#include "cli/message/figures.h"
#include "cli/options/options.h"
#include "cli/packing/packing.h"
#include "cli/report/card.h"
#include "container/container.h"
#include "store/store.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

// Columns of a sound's name in the table, without slots and beside them.
#define NAME_COLUMNS 25
#define NAME_COLUMNS_SLOTS 20

// As long as a list of sounds may be before it is cut short.
#define OFFSETS_COLUMNS 60U

// What a sound lacks that nobody hears is not told (chosen here).
#define LACKS_LEAST_LU 0.05

/* The whole */

static Figures*
old_of(const VwPack* pack) {
  Figures* const files = figures_list();
  for (size_t i = 0; i < pack->n_old; ++i) {
    const VwPackOld* const old = &pack->old[i];
    Figures* const         made = figures_new();
    figures_set(made, "path", old->name);
    figures_set(made, "changed", old->changed);
    figures_set(made, "removed", old->removed);
    figures_add(files, made);
  }
  return files;
}

static void
add_sums(Figures* all, const VwPackSums* sums) {
  figures_set(all, "loudness_lufs", sums->loudness_lufs);
  figures_set(all, "loudest_lufs", sums->loudest_lufs);
  figures_set(all, "all_reach_lufs", sums->all_reach_lufs);
  figures_set(all, "families", sums->n_families);
  figures_set(all, "families_softer", sums->n_lacking);
  figures_set(all, "sounds_failed", sums->n_failed);
  figures_set(all, "files_total", sums->n_files);
  figures_set(all, "files_same", sums->n_same);
  figures_set(all, "bytes", sums->n_bytes);
  figures_set(all, "bytes_on_card", sums->n_bytes_on_card);
  figures_set(all, "bytes_over", sums->n_bytes_over);
  figures_set(all, "files_over", sums->n_files_over);
}

/// What loud sound, a prop and the fastest lamp need.
static unsigned
cautions_of(const VwPack* pack) {
  double most_hz = 0.0;
  for (size_t i = 0; i < pack->n_sounds; ++i) {
    const VwFamily* const family = &pack->sounds[i].family;
    if (!pack->sounds[i].status && family->plan.shots) {
      most_hz = fmax(most_hz, family->lamp.pulse_hz);
    }
  }
  return caution_of_flashes(most_hz) | VW_CAUTION_LOOK_ALIKE |
         VW_CAUTION_HEARING;
}

static Figures*
figures_of(const PackRun* run) {
  const VwPack* const pack = &run->pack;
  Figures* const      all = figures_of_command("pack");
  figures_set(all, "board", report_board(run->board));
  figures_set(all, "folder", run->folder);
  figures_set(all, "written", run->written);
  figures_set(all, "sounds_total", pack->n_sounds);
  add_sums(all, &pack->sums);
  figures_set_some(all, "capacity_bytes", run->board->capacity_bytes);
  figures_set(all, "cautions", caution_figures(cautions_of(pack)));
  figures_set(all, "left_over", old_of(pack));
  return all;
}

bool
pack_report_json(const PackRun* run, FILE* out) {
  bool good = true;
  for (size_t i = 0; good && i < run->pack.n_sounds; ++i) {
    good = pack_report_json_sound(run, &run->pack.sounds[i], out);
  }
  return good && figures_json(figures_of(run), out);
}

/* In words */

/// How many loops have a fire rate that nobody asked for.
static size_t
count_chosen(const VwPack* pack) {
  size_t n = 0;
  for (size_t i = 0; i < pack->n_sounds; ++i) {
    const VwPackSound* const sound = &pack->sounds[i];
    n += !sound->status && sound->family.plan.shots && sound->family.plan.chosen
           ? 1U
           : 0U;
  }
  return n;
}

/// Whether bursts are what is brought to the pack's loudness.
static bool
is_as_burst(const VwPack* pack) {
  bool burst = false;
  for (size_t i = 0; i < pack->n_sounds; ++i) {
    const VwFamilyOptions* const wish = &pack->sounds[i].options;
    burst |= !wish->shot_only && wish->level.loud_as == VW_LOUD_AS_BURST;
  }
  return burst;
}

/// Which sounds are to be louder or softer than the rest, as far as there is
/// room. To be freed; NULL of none.
static char*
offsets_of(const VwPack* pack) {
  char*  words = NULL;
  size_t n_more = 0;
  for (size_t i = 0; i < pack->n_sounds; ++i) {
    const VwSoundWish* const wish = pack->sounds[i].wish;
    if (pack->sounds[i].status || wish->offset_lu == 0.0) {
      continue;
    }
    if (n_more || (words && strlen(words) > OFFSETS_COLUMNS)) {
      ++n_more;
      continue;
    }
    words = text_more(words, ", ", "%s %+.4g LU", wish->name, wish->offset_lu);
  }
  return n_more && words ? text_more(words, " and ", "%zu more", n_more)
                         : words;
}

/// Whether the sounds were guessed now, from a folder.
static bool
is_guessed(const Prop* prop) {
  return prop->n_sounds && prop->sounds[0].remark;
}

/// Add what a person is told in other words.
static void
add_words(const PackRun* run, Figures* all) {
  const VwPackSums* const sums = &run->pack.sums;
  const uint64_t          capacity = run->board->capacity_bytes;
  const double softer_lu = sums->loudness_lufs - sums->all_reach_lufs;
  char* const  before = text_format("%s.before", run->folder);
  char         size[24];
  figures_set(
    all, "size", (const char*)report_size(size, sums->n_bytes_on_card));
  figures_set(all, "room", capacity ? report_size(size, capacity) : NULL);
  figures_set(all, "reached", sums->n_families - sums->n_lacking);
  figures_set(all, "softer", sums->n_lacking);
  figures_set(
    all, "softer_lu", sums->n_lacking && softer_lu > 0.0 ? softer_lu : NAN);
  figures_set(all, "too_big", sums->n_bytes_over != 0U);
  figures_set(all, "too_many", !sums->n_bytes_over && sums->n_files_over);
  figures_set(all, "other", sums->n_other);
  figures_set(
    all, "before", run->written && vw_path_is_folder(before) ? before : NULL);
  figures_set(all, "as_burst", is_as_burst(&run->pack));
  figures_set_made(all, "offsets", offsets_of(&run->pack));
  figures_set(all, "guessed", is_guessed(run->prop));
  figures_set(all, "chosen", count_chosen(&run->pack));
  figures_set(all,
              "deliver",
              run->written && !vw_container_is_bare(run->board->container));
  free(before);
}

static const Line heading[] = {
  {NULL,
   "{board.name}: {sounds_total} sound{sounds_total:s}, {files_total} "
   "file{files_total:s}, {size}{room? of {room}}{!room?; room unknown: set "
   "capacity =}{too_big?: not made}{too_many?: not made}",
   NULL,
   false},
  {"loudness",
   "{loudness_lufs} {as_burst?in rapid fire}{!as_burst?of one shot}, reached "
   "by {softer?{reached} of {families} recordings}"
   "{!softer?all recordings}",
   "families",
   true},
  {"",
   "--all-reach: all alike at {all_reach_lufs}, {softer_lu} softer",
   "families softer_lu",
   false},
  {"level =",
   "{offsets}, {guessed?by the guess}{!guessed?as the sound list has it}",
   "offsets",
   true}};

static const Line of_sound[] = {
  {"softer",
   "{name}, by {lacks_lu}: it is as loud as it can be",
   "lacks_lu",
   false},
  {"to fit",
   "{name} at {rate} Hz instead of {rate_before} Hz: {kept:.1f} % is kept",
   "rate_before",
   false}};

static const Line files[] = {
  {"files", "{files_total} not written: too big", "too_big", false},
  {"files", "{files_total} not written: too many", "too_many", false},
  {"files",
   "{other?{other} {written?written}{!written?to write}}"
   "{other files_same?, }{files_same?{files_same} unchanged}"
   " in {folder}{room?; all fit into {room}}",
   "!too_big !too_many",
   true}};

static const Line of_old[] = {
  {"removed", "{path}", "removed", false},
  {"left over",
   "{path}: {changed?changed since it was made, it stays}{!changed?no sound "
   "makes it now, it goes once all are made}",
   "!removed",
   false}};

static const Line rest[] = {
  {"kept", "the pack before, in {before}", "before", false},
  {"fire rate",
   "chosen for {chosen} sound{chosen:s}: fire-rate = 9/s in the sound list "
   "sets it",
   "chosen",
   true}};

static const Line next[] = {
  {NULL, "Next: volleyweave deliver {folder:q} --to CARD", "deliver", false}};

/// Tell of sounds that are softer than others, or of another sample rate.
static void
print_lacking(const PackRun* run, FILE* out) {
  for (size_t i = 0; i < run->pack.n_sounds; ++i) {
    const VwPackSound* const sound = &run->pack.sounds[i];
    const bool               softer =
      sound->lacks_lu > LACKS_LEAST_LU && sound->family_of == i;
    if (sound->status || (!softer && !sound->rate_before_hz)) {
      continue;
    }
    Figures* const told = figures_new();
    figures_set(told, "name", sound->wish->name);
    figures_set(told, "lacks_lu", softer ? sound->lacks_lu : NAN);
    figures_set(told, "rate", sound->options.format.rate_hz);
    figures_set(told, "rate_before", sound->rate_before_hz);
    if (sound->rate_before_hz) {
      figures_set(
        told,
        "kept",
        100.0 * vw_pack_kept(run->board, sound, sound->options.format.rate_hz));
    }
    figures_lines(told, LINES(of_sound), out);
    figures_free(told);
  }
}

/* Tables */

/// Print a name in so many columns, cut short where it has to be.
static void
print_name(const char* name, int n_columns, FILE* out) {
  char* const safe = text_safe(name);
  const int   n = (int)text_cut(safe, (size_t)n_columns, out);
  fprintf(out, "%*s", n_columns - n, "");
  free(safe);
}

static bool
has_slots(const VwPack* pack) {
  bool any = false;
  for (size_t i = 0; i < pack->n_sounds; ++i) {
    any |= pack->sounds[i].wish->slot != 0U;
  }
  return any;
}

/// Print a slot in front of a line, if any sound of the pack has one.
static void
print_slot(const VwPack* pack, unsigned slot, FILE* out) {
  if (!has_slots(pack)) {
    fputs("  ", out);
  } else if (slot) {
    fprintf(out, "%5u  ", slot);
  } else {
    fprintf(out, "%5s  ", "-");
  }
}

static int
name_columns(const VwPack* pack) {
  return has_slots(pack) ? NAME_COLUMNS_SLOTS : NAME_COLUMNS;
}

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

/// Whether it was left unmade, as the board does not hold it.
static bool
is_too_much(const VwPackSums* sums) {
  return sums->n_bytes_over || sums->n_files_over;
}

/// The loudness of a sound; none of one that was not brought to the pack's.
static const char*
loudness_of(char text[24], const PackRun* run, const VwFamily* family) {
  (void)snprintf(text,
                 24,
                 "%.1f",
                 family->plan.shots ? family->level.burst_loudness_lufs
                                    : family->level.shot_loudness_lufs);
  return is_too_much(&run->pack.sums) ? "-" : text;
}

static void
print_sound(const PackRun* run, const VwPackSound* sound, FILE* out) {
  char                  size[24];
  char                  loudness[24];
  const VwFamily* const family = &sound->family;
  print_slot(&run->pack, sound->wish->slot, out);
  print_name(sound->wish->name, name_columns(&run->pack), out);
  if (sound->status) {
    fputs("  failed\n", out);
    return;
  }
  fprintf(out,
          " %-5s %9s %5s",
          choice_word(words_make, (int)sound->wish->make),
          report_size(size, bytes_of(sound)),
          loudness_of(loudness, run, family));
  if (family->plan.shots) {
    char rate[40];
    fprintf(out, " %7s/s", line_rate(rate, family->plan.fire_rate_per_s));
  } else {
    fprintf(out, " %9s", "-");
  }
  if (sound->wish->make == VW_MAKE_LOOP) {
    print_overrun(run->board, sound, out);
  } else {
    fprintf(out, "%8s", sound->wish->make == VW_MAKE_BURST ? "ends" : "-");
  }
  if (family->plan.shots) {
    fprintf(out, "  %.0f ms\n", family->lamp.on_ms);
  } else {
    fprintf(out, "  %s\n", words_flash[sound->wish->make == VW_MAKE_SHOT]);
  }
}

static void
print_sounds(const PackRun* run, FILE* out) {
  const VwPack* const pack = &run->pack;
  size_t* const       order = vw_pack_by_slot(pack);
  fprintf(out,
          "%s%-*s %-5s %9s %5s %9s%8s  %s\n",
          has_slots(pack) ? " slot  " : "  ",
          name_columns(pack),
          "sound",
          "what",
          "size",
          "LUFS",
          "fires",
          "release",
          "lamp on");
  for (size_t i = 0; order && i < pack->n_sounds; ++i) {
    print_sound(run, &pack->sounds[order[i]], out);
  }
  free(order);
}

static void
print_files(const PackRun* run, FILE* out) {
  static const char* const fates[] = {[VW_PACK_FILE_NEW] = "new",
                                      [VW_PACK_FILE_REPLACED] = "replaced",
                                      [VW_PACK_FILE_SAME] = "unchanged"};
  fprintf(out,
          "\n%s%9s  %-9s  %s\n",
          has_slots(&run->pack) ? " slot  " : "  ",
          "size",
          "",
          "file");
  for (size_t i = 0; i < run->pack.n_sounds; ++i) {
    const VwPackSound* const sound = &run->pack.sounds[i];
    for (size_t j = 0; j < sound->n_files; ++j) {
      char        size[24];
      char* const safe = text_safe(sound->files[j].name);
      print_slot(&run->pack, sound->wish->slot, out);
      fprintf(out,
              "%9s  %-9s  %s\n",
              report_size(size, sound->files[j].n_bytes),
              fates[sound->files[j].fate],
              safe);
      free(safe);
    }
  }
}

void
pack_report_text(const PackRun* run, FILE* out) {
  const unsigned cautions = cautions_of(&run->pack);
  Figures* const all = figures_of(run);
  const Figures* old = figures_at(all, "left_over");
  add_words(run, all);
  figures_lines(all, LINES(heading), out);
  print_lacking(run, out);
  figures_lines(all, LINES(files), out);
  for (size_t i = 0; i < run->pack.n_old; ++i) {
    figures_lines(figures_entry(old, i), LINES(of_old), out);
  }
  figures_lines(all, LINES(rest), out);
  pack_report_power(run, out);
  caution_lines(cautions, run->cautioned, out);
  if (run->settings->dry_run) {
    print_files(run, out);
  }
  print_sounds(run, out);
  figures_lines(all, LINES(next), out);
  figures_free(all);
}

/* Too big */

/// What a change is, in words. To be freed.
static char*
words_of(const VwPackChange* change) {
  const char* const bits = choice_word(format_encodings, (int)change->encoding);
  switch (change->kind) {
    case VW_PACK_RATE:
      return text_format("a sample rate of %u Hz (sample-rate = %u)",
                         change->rate_hz,
                         change->rate_hz);
    case VW_PACK_ENCODING:
      return text_format("%s bits (bits = %s)", bits, bits);
    case VW_PACK_CHANNELS:
      return text_format("one channel (channels = 1)");
    case VW_PACK_CYCLE:
      return text_format("loops of fewer shots (shots = 1)");
    default:
      return text_format("only what the speaker can play of each (--fit)");
  }
}

static void
say_changes(const PackRun* run) {
  const VwPackSums* const sums = &run->pack.sums;
  for (size_t i = 0; i < sums->n_changes; ++i) {
    const VwPackChange* const change = &sums->changes[i];
    char                      size[24];
    char* const               words = words_of(change);
    say(run->board->name,
        "try %s: about %s, %s",
        words ? words : "a change",
        report_size(size, change->n_bytes_on_card),
        change->fits ? "which fits" : "still too big");
    free(words);
  }
}

bool
pack_report_too_big(const PackRun* run) {
  const VwPackSums* const sums = &run->pack.sums;
  char                    over[24];
  char                    all[24];
  char                    capacity[24];
  if (sums->n_files_over) {
    say(run->board->name,
        "%zu files too many, it takes %u: leave sounds out",
        sums->n_files_over,
        run->board->files_max);
  }
  if (sums->n_bytes_over) {
    say(run->board->name,
        "%s too big: %s of files, %s of room: leave sounds out, or %s",
        report_size(over, sums->n_bytes_over),
        report_size(all, sums->n_bytes_on_card),
        report_size(capacity, run->board->capacity_bytes),
        sums->n_changes
          ? "make them smaller"
          : "shorten them with to =, as it takes no smaller format");
    say_changes(run);
  }
  return is_too_much(sums);
}
