#include "cli/message/figures.h"
#include "cli/report/sections.h"

#include <math.h>

// Of a sound that lies almost wholly below its corner, a high-pass leaves
// something else.
#define BELOW_MOST 0.9

// What the report would round away.
#define DB_SHOWN 0.05

Figures*
made_level(const Report* report) {
  static const char* const faded[] = {NULL, "start", "end", "start and end"};
  if (!report->family) {
    return NULL;
  }
  const VwLevel* const of = &report->family->level;
  Figures* const       level = figures_new();
  figures_set(level, "before_lufs", of->before_lufs);
  figures_set(level, "shot_loudness_lufs", of->shot_loudness_lufs);
  figures_set(level, "burst_loudness_lufs", of->burst_loudness_lufs);
  figures_set(level,
              "burst_over_shot_lu",
              of->burst_loudness_lufs - of->shot_loudness_lufs);
  figures_set(level, "target_lufs", of->target_lufs);
  figures_set(level, "reached", of->reached);
  figures_set(level, "gain_db", of->gain_db);
  figures_set(level, "limiting_db", of->limiting_db);
  figures_set(level, "limiting_ms", of->limiting_ms);
  figures_set(level, "limiting_share", of->limiting_share);
  figures_set(level, "limiting_needed_db", of->limiting_needed_db);
  figures_set(level, "true_peak_dbtp", of->true_peak_dbtp);
  figures_set(
    level, "ceiling_dbtp", report->settings->family.level.ceiling_dbtp);
  const VwTakeUse* const use = report->family->uses;
  figures_set(
    level, "faded", faded[use ? use->start_faded + 2 * use->end_faded : 0]);
  return level;
}

/// What would make it louder by more than is rounded away, each alone.
static Figures*
louder_of(const Report* report) {
  const Louder* const of = &report->louder;
  if (!of->tried) {
    return NULL;
  }
  const bool speaker = of->speaker_db >= DB_SHOWN &&
                       report->written.energy_below_350hz < BELOW_MOST;
  const bool     limiting = of->limiting_db >= DB_SHOWN;
  const bool     tightening = of->tightening_db >= DB_SHOWN;
  Figures* const louder = figures_new();
  figures_set(louder, "speaker_db", speaker ? of->speaker_db : (double)NAN);
  figures_set(louder, "limiting_db", limiting ? of->limiting_db : (double)NAN);
  figures_set(
    louder, "tightening_db", tightening ? of->tightening_db : (double)NAN);
  figures_set(louder, "limiting_max_db", of->limiting_max_db);
  figures_set(louder, "burst", report->family->plan.shots > 0U);
  figures_set(louder, "any", speaker || limiting || tightening);
  return louder;
}

/// What words on a level need beside.
static void
add_level_words(Figures* level, const Report* report) {
  // What became of the channels before the loudness was measured.
  static const char* const mixed[] = {
    [VW_DOWNMIX_NONE] = "",
    [VW_DOWNMIX_SUM] = " (its channels mixed)",
    [VW_DOWNMIX_STRONGER] = " (its stronger channel)",
    [VW_DOWNMIX_DUAL_MONO] = " (one of its like channels)"};
  const VwFamily* const family = report->family;
  const double          speaker_hz = report->settings->family.level.speaker_hz;
  figures_set(
    level, "mixed", family->uses ? mixed[family->uses[0].downmix] : "");
  figures_set(level, "fade_ms", report->settings->family.fade_ms);
  figures_set(level, "fades", report->command->bit == COMMAND_CONVERT);
  figures_set(level, "burst", family->plan.shots && !family->join.n_frames);
  figures_set(level, "limited", family->level.limiting_db >= DB_SHOWN);
  figures_set(level, "speaker_hz", speaker_hz > 0.0 ? speaker_hz : (double)NAN);
  figures_set(level,
              "below_350hz",
              speaker_hz > 0.0 || report->split
                ? (double)NAN
                : report->written.energy_below_350hz);
  figures_set(level, "below_800hz", report->written.energy_below_800hz);
}

static const Line level_lines[] = {
  {NULL, "Level"},
  {"loudness", "{before_lufs} before{mixed}, {shot_loudness_lufs} after"},
  {"in the burst",
   "{burst_loudness_lufs}, {burst_over_shot_lu:+.1f} LU to the shot alone",
   "burst"},
  {"measured as",
   "maximum momentary loudness of the sound in silence, as played"},
  {"faded",
   "its {faded}, which could click, over {fade_ms}"
   "{fades? (--fade 0: not at all)}",
   "faded",
   true},
  {"gain", "{gain_db:+.1f} dB"},
  {"limiting",
   "{limiting_db:.1f} dB at most, above 1 dB for {limiting_share:%} of the "
   "time",
   "limited"},
  {"limiting", "none", "!limited"},
  {"true peak", "{true_peak_dbtp}, the ceiling is {ceiling_dbtp:.1f} dBTP"},
  {"speaker",
   "what lies below its corner of {speaker_hz:.4g} Hz is left out",
   "speaker_hz"},
  {"speaker",
   "none given; {below_350hz:%} of the energy lies below 350 Hz, which 40 mm "
   "cannot play, {below_800hz:%} below 800 Hz (20 mm)",
   "below_350hz",
   true},
};

static const Line louder_lines[] = {
  {"louder by",
   "{speaker_db} on a speaker of 40 mm: --speaker 40mm",
   "speaker_db",
   true},
  {"{!speaker_db?louder by}",
   "{limiting_db} {burst?in the single shot }with more limiting: "
   "--limiting-max {limiting_max_db:.4g}",
   "limiting_db",
   true},
  {"{!speaker_db !limiting_db?louder by}",
   "{tightening_db} in the burst with less tightening: --valley none",
   "tightening_db",
   true},
  {"", "beyond that, look at the amplifier", "any"},
  {"louder by", "nothing is left in the file: look at the amplifier", "!any"},
};

void
level_text(const Report* report, FILE* out) {
  Figures* const level = made_level(report);
  Figures* const louder = louder_of(report);
  add_level_words(level, report);
  figures_lines(level, LINES(level_lines), out);
  figures_lines(louder, LINES(louder_lines), out);
  caution_lines(VW_CAUTION_HEARING, report->cautioned, out);
  figures_free(level);
  figures_free(louder);
}
