#include "cli/message/figures.h"
#include "cli/report/sections.h"
#include "container/container.h"

#include <math.h>

// Of a sound that lies almost wholly below its corner, a high-pass leaves
// something else.
#define BELOW_MOST 0.9

// Noise so far below a sound, K-weighted 3 dB nearer, adds 0.2 LU to it (closed
// form).
#define NOISE_NEAR_DB 16.0

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
  const VwKick* const kick = &report->family->kick;
  const bool          kicks = kick->hz > 0.0;
  figures_set(level, "kick_hz", kicks ? kick->hz : NAN);
  figures_set(level, "kick_db", kicks ? report->settings->family.kick_db : NAN);
  figures_set(level, "kick_share", kicks ? kick->share : NAN);
  figures_set(level, "kick_lu", kicks ? kick->loudness_lu : NAN);
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
  figures_set(louder, "burst_db", of->burst_db);
  figures_set(
    louder, "tightening_db", tightening ? of->tightening_db : (double)NAN);
  figures_set(louder, "limiting_max_db", of->limiting_max_db);
  figures_set(louder, "burst", report->family->plan.shots > 0U);
  figures_set(louder, "any", speaker || limiting || tightening);
  figures_set(louder, "after_others", speaker || limiting);
  figures_set(louder, "verbose", report->settings->verbose);
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
    [VW_DOWNMIX_LATE] = " (its stronger channel)",
    [VW_DOWNMIX_DUAL_MONO] = " (one of its like channels)"};
  const VwFamily* const family = report->family;
  const double speaker_hz = report->settings->family.level.speaker.corner_hz;
  figures_set(
    level, "mixed", family->uses ? mixed[family->uses[0].downmix] : "");
  figures_set(level, "verbose", report->settings->verbose);
  figures_set(level, "fade_ms", report->settings->family.fade_ms);
  figures_set(level, "fades", report->command->bit == COMMAND_CONVERT);
  figures_set(level, "burst", family->plan.shots && !family->join.n_frames);
  figures_set(level, "limited", family->level.limiting_db >= DB_SHOWN);
  figures_set(level, "most", report->louder.tried);
  figures_set(level, "cuts", report->settings->family.level.speaker.n_cuts);
  figures_set(level, "speaker_hz", speaker_hz > 0.0 ? speaker_hz : (double)NAN);
  figures_set(level,
              "below_350hz",
              speaker_hz > 0.0 || report->split
                ? (double)NAN
                : report->written.energy_below_350hz);
  figures_set(level, "below_800hz", report->written.energy_below_800hz);
}

static const Line level_lines[] = {
  {NULL, "Level", "verbose"},
  {"loudness",
   "{before_lufs} before{mixed}, {shot_loudness_lufs} after",
   "verbose"},
  {"loudness",
   "{burst?shot }{shot_loudness_lufs}{burst?, burst {burst_loudness_lufs:.1f}}"
   "{most?: the loudest with{limited? {limiting_db:.1f} dB of}{!limited?out} "
   "limiting}{!most limited?, limited by {limiting_db:.1f} dB}",
   "!verbose",
   true},
  {"in the burst",
   "{burst_loudness_lufs}, {burst_over_shot_lu:+.1f} LU to the shot alone",
   "verbose burst"},
  {"measured as",
   "maximum momentary loudness of the sound in silence, as played",
   "verbose"},
  {"faded",
   "its {faded}, which could click, over {fade_ms}"
   "{fades? (--fade 0: not at all)}",
   "faded",
   true},
  {"kick",
   "{kick_hz:.4g} Hz, {kick_share:%} of the shot's power; a speaker that "
   "cannot play it is {kick_lu:.1f} LU softer",
   "kick_hz",
   true},
  {"gain", "{gain_db:+.1f} dB", "verbose"},
  {"limiting",
   "{limiting_db:.1f} dB at most, off the attack and not off the tail; above 1 "
   "dB for {limiting_share:%} of the time",
   "verbose limited",
   true},
  {"limiting", "none", "verbose !limited"},
  {"true peak",
   "{true_peak_dbtp}, the ceiling is {ceiling_dbtp:.1f} dBTP",
   "verbose"},
  {"speaker",
   "what lies below its corner of {speaker_hz:.4g} Hz is left out{cuts?, "
   "{cuts} resonance{cuts:s} cut}",
   "verbose speaker_hz"},
  {"speaker",
   "none given; {below_350hz:%} of the energy lies below 350 Hz, which 40 mm "
   "cannot play, {below_800hz:%} below 800 Hz (20 mm)",
   "verbose below_350hz",
   true},
};

static const Line louder_lines[] = {
  {"louder by",
   "{speaker_db} on a speaker of 40 mm: --speaker 40mm",
   "verbose speaker_db",
   true},
  {"{!speaker_db?louder by}",
   "{limiting_db} {burst?in the single shot }with more limiting: "
   "--limiting-max {limiting_max_db:.4g}"
   "{burst?; {burst_db:+.1f} dB in the burst}",
   "verbose limiting_db",
   true},
  {"{!speaker_db !limiting_db?louder by}",
   "{tightening_db} in the burst with less tightening: --valley none",
   "verbose tightening_db",
   true},
  {"", "beyond that, use a stronger amplifier", "verbose any"},
  {"louder",
   "--limiting-max {limiting_max_db:.4g}: {burst?shot }{limiting_db:+.1f} dB"
   "{burst?, burst {burst_db:+.1f} dB}",
   "!verbose limiting_db"},
  {"louder",
   "--speaker 40mm: {speaker_db:+.1f} dB, as a 40 mm speaker plays it",
   "!verbose speaker_db !limiting_db"},
  {"louder",
   "--valley none: burst {tightening_db:+.1f} dB",
   "!verbose tightening_db !after_others"},
  {"louder",
   "the file is as loud as it can be: use a stronger amplifier",
   "!any"},
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

/* Warnings */

const WarningKind kinds_of_level[KINDS_OF_LEVEL] = {
  {"missed",
   "a level other than asked",
   "{loudness?{asked_lufs:.4g} LUFS needs {!beyond?{needed_db:.1f}}"
   "{beyond?over {limit_db:.4g}} dB of limiting, {most_db:.4g} allowed: left "
   "at {left_lufs:.1f}; {!beyond?raise --limiting-max}"
   "{beyond?give a lower --loudness}}"
   "{!loudness gain?a gain of {asked_db:+.4g} dB needs "
   "{!beyond?{needed_db:.1f}}{beyond?over {limit_db:.4g}} dB of limiting, "
   "{most_db:.4g} allowed: left at {gain_db:+.1f} dB; "
   "{!beyond?raise --limiting-max}{beyond?give a lower --gain}}"
   "{!loudness !gain?its peak lies above the ceiling, so it is "
   "changed by {gain_db:.1f} dB: give a higher --ceiling}"},
  {"near_noise",
   "a level near the noise of the encoding",
   "it lies only {above_noise_db:.0f} dB above the noise of {encoding}: "
   "give a higher --loudness, or more --bits"},
  {"sags",
   "peaks that pull the supply too low",
   "its peaks pull the supply to {left_v:.2f} V, under {supply_min_v:.4g} V: "
   "give a lower --loudness or a stronger cell"},
  {"no_kick",
   "a kick that is left out",
   "{low?its kick is left out: a speaker that plays from {corner_hz:.4g} Hz "
   "does not give its {kick_hz:.4g} Hz: give another --speaker}"
   "{!low?it has no kick, as no shots are laid down: give --fire-rate, or "
   "leave --kick out}"},
};

/// Set the limiting that a level would need. Beyond the most that can be asked
/// for it is a guess, and no figure to go by.
static void
set_needed(Figures* of, double needed_db) {
  const double most_db = ((VwRange)VW_RANGE_LIMITING_DB).most;
  figures_set(of, "needed_db", needed_db);
  figures_set(of, "beyond", needed_db > most_db);
  figures_set(of, "limit_db", most_db);
}

/// Set what there is to tell of a kick that is not laid; of a pack nothing is
/// said of what sounds on.
static void
set_no_kick(Figures* of, const Report* report) {
  const VwFamily* const        family = report->family;
  const VwFamilyOptions* const wish = &report->settings->family;
  const VwKickTone             tone = vw_kick_tone(wish, 0.0);
  const bool                   joined = family->join.n_frames;
  const bool                   low = tone.hz < wish->level.speaker.corner_hz;
  const bool                   laid = family->kick.hz > 0.0 || wish->whole ||
                    (joined && !family->join.shots && report->packed);
  figures_set(of, "no_kick", tone.db > 0.0 && !laid);
  figures_set(of, "low", low && !joined);
  figures_set(of, "kick_hz", tone.hz);
  figures_set(of, "corner_hz", wish->level.speaker.corner_hz);
}

Figures*
level_of(const Report* report) {
  const VwFamily* const       family = report->family;
  const VwLevel* const        level = &family->level;
  const VwLevelOptions* const wish = &report->settings->family.level;
  const VwFormat* const       format = &family->format;
  // What a sound of a pack lacks of the pack's loudness is told of the pack.
  const bool   of_pack = report->packed && report->packed->sound->aimed;
  const double above_db =
    level->shot_loudness_lufs - vw_encoding_noise_dbfs(format->encoding);
  Figures* const of = figures_new();
  figures_set(
    of, "missed", !level->reached && !of_pack && wish->aim != VW_AIM_LOUDEST);
  figures_set(of, "loudness", wish->aim == VW_AIM_LOUDNESS);
  figures_set(of, "gain", wish->aim == VW_AIM_GAIN);
  figures_set(of, "asked_lufs", wish->loudness_lufs);
  figures_set(of, "asked_db", wish->gain_db);
  set_needed(of, level->limiting_needed_db);
  figures_set(of, "most_db", level->limiting_max_db);
  figures_set(of,
              "left_lufs",
              wish->loud_as == VW_LOUD_AS_BURST ? level->burst_loudness_lufs
                                                : level->shot_loudness_lufs);
  figures_set(of, "gain_db", level->gain_db);
  figures_set(of,
              "near_noise",
              above_db < NOISE_NEAR_DB && format->dither == VW_DITHER_TPDF);
  figures_set(of, "above_noise_db", fmax(above_db, 0.0));
  figures_set(of, "encoding", vw_encoding_name(format->encoding));
  set_no_kick(of, report);
  if (power_is_asked(report)) {
    const VwPower power = power_of(report);
    figures_set(of, "sags", power.low);
    figures_set(of, "left_v", power.supply_v.peak);
    figures_set(of, "supply_min_v", report->settings->power.supply_min_v);
  }
  return of;
}
