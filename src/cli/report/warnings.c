// All that is said wherever a result is not as good as it could be.

#include "base/ranges.h"
#include "burst/burst.h"
#include "cli/report/report.h"
#include "cli/report/sections.h"
#include "container/container.h"
#include "store/store.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

// An offset above this costs a fortieth of the room for the sound.
#define BIG_OFFSET 0.025

// What it may be off without a word where a buffer decides.
#define GIVING_MOST_PPM 5000.0

// What is left out of a shot before its crest is not missed below this (chosen
// here).
#define LATE_LEAST_MS 0.5

// A shot is no softer than this beside the loudest of its recording: of 3208 in
// 430 real ones, 34 of them those of the tests, the softest is 20 dB down.
#define STRETCH_MOST_DB 30.0

#define KINDS(kinds) kinds, sizeof(kinds) / sizeof(kinds[0])

// The option, or its key in the section that a sound of a pack has in its list.
#define VALLEY "{section?valley = }{!section?--valley }"

/* Of a take */

static const WarningKind kinds_of_take[] = {
  {"no_shot",
   "no shot",
   "no shot rises out of the noise{noise?, so it is taken for a sustained "
   "sound: record a shot nearer or louder}{!noise?: {remedy}}"},
  {"few",
   "fewer shots to keep than asked",
   "{wanted} shots to keep, of which {good?{good}}{!good?none} "
   "lie{single?s} within 6 dB of the loudest unclipped: keep fewer, or "
   "record again"},
  {"left",
   "shots of an earlier split, left",
   "{left} shot{left:s} of an earlier split, {left_first}{several_left? to "
   "{left_last}}, {several_left?are}{!several_left?is} left: delete what you "
   "do not want"},
  {"sustained",
   "a sustained sound, taken for a shot",
   "a sustained sound, taken for {laid?shots that run together: leave "
   "--fire-rate out}{!laid?one shot: use `loop` for its loop, or `convert` "
   "for all of it}"},
  {"several",
   "several shots in the take, of which one is used",
   "{shots} shots{rapid?, as rapid fire}: the one at {attack_ms:.0f} ms is "
   "{inspects?shown}{!inspects?used}{inspects rapid? (`loop` uses all)}; "
   "give {section?pick = N}{!section?--pick N} for another"},
  {"torn_ms",
   "a stretch that starts within a shot",
   "the stretch starts within the shot at {torn_ms:.0f} ms: give --from "
   "{earlier_s:.3f}s for all of it"},
  {"faint_db",
   "a stretch far softer than its take",
   "the stretch is {faint_db:.0f} dB softer than its take{raised_db? (now "
   "raised by {raised_db:.0f} dB)} and may be noise: move --from or --to"},
  {"told",
   "one shot, though several were given",
   "--as {told} was given, but one shot was found and is used: give --as "
   "shot or --as sustained"},
  {"slow",
   "a slow attack, which comes late after the trigger",
   "a slow attack, loud only {rise_ms:.0f} ms after the trigger: "
   "{!brisk_ms?give a take with a faster one}"
   "{brisk_ms starts?give {section?start = }{!section?--start }"
   "{brisk_ms:.0f}ms}{brisk_ms !starts?use `shot --start {brisk_ms:.0f}ms`}"
   "{brisk_ms? to leave most of it out}"},
  {"earlier_db",
   "an earlier sound, which was left out",
   "a sound {earlier_ms:.0f} ms before the attack, {earlier_db:.0f} dB "
   "below the crest, was left out: use `convert` to keep it"},
  {"cut_off",
   "a take that ends while it still sounds",
   "the take ends while it still sounds, {end_db:.0f} dB below the crest, "
   "and is faded out: record it longer"},
  {"clipped",
   "clipped frames, from too high a recording level",
   "{clipped} clipped frames: record at a lower level"},
  {"big_offset",
   "an offset (DC), which was removed",
   "an offset (DC) of {offset:+.3f} of full scale was removed: check the "
   "recorder"},
  // Of what was made from it.
  {"cancels",
   "channels that cancel each other, of which one was kept",
   "its channels cancel each other: the stronger one alone was kept; try "
   "--channels 2"},
  {"side_late_ms",
   "one side that is late, so that their sum combs",
   "its {side} side is {side_late_ms:.1f} ms late, and the sum of both combs: "
   "{kept?the stronger alone was kept; try --channels 2}{!kept inspects?use "
   "`loop`, which keeps the stronger alone}{!kept !inspects?convert it with "
   "--channels 1 first}"},
  {"late_ms",
   "a late crest, before which the burst leaves sound out",
   "its crest comes late, so its first {late_ms:.0f} ms are left out: give a "
   "lower fire rate, or " VALLEY "none"},
  {"swells",
   "an attack too slow for the fire rate",
   "it takes {rise_ms:.0f} of {period_ms:.0f} ms to get loud: {reads_per_s?try "
   "{reads_per_s:.4g} per second or "
   "less}{!reads_per_s?give a take with a faster attack}"},
};

/// A fire rate that can be asked for, rounded towards the slower one; the
/// tolerance is that of the product. NaN where none is slow enough.
static double
slower(double fire_rate_per_s, double step_per_s) {
  const VwRange range = VW_RANGE_FIRE_RATE_PER_S;
  const double  rounded =
    floor(fire_rate_per_s / step_per_s + 1e-6) * step_per_s;
  return rounded >= range.least ? rounded : (double)NAN;
}

/// Set what there is to tell of an attack that takes too much of the period.
static void
set_swell(Figures* of, const VwShotFacts* facts, const VwPlan* plan) {
  // What is advised is asked for, and met but for some thousandths.
  const double per_s = fmin(plan->fire_rate_asked_per_s, plan->fire_rate_per_s);
  const double most_per_s = 1000.0 * VW_ATTACK_SHARE_MOST / facts->rise_ms;
  figures_set(of, "swells", plan->shots && per_s > most_per_s + 1e-6);
  figures_set(of, "period_ms", 1000.0 / per_s);
  figures_set(of, "reads_per_s", slower(most_per_s, 0.1));
}

static void
set_split(Figures* of, const VwShots* split) {
  figures_set(of, "few", split && split->n_good < split->n_wanted);
  figures_set(of, "good", split ? split->n_good : 0U);
  figures_set(of, "wanted", split ? split->n_wanted : 0U);
  figures_set(of, "single", split && split->n_good < 2U);
}

/// Set what there is to tell of a side that is late.
static void
set_side(Figures* of, const Report* report, size_t index) {
  const double          late_ms = report->inputs[index].facts.side_late_ms;
  const VwFamily* const family = report->family;
  const VwDownmix how = family ? family->uses[index].downmix : VW_DOWNMIX_NONE;
  const bool      kept = how == VW_DOWNMIX_LATE;
  const bool      both =
    family && how == VW_DOWNMIX_NONE && family->format.n_channels == 2U;
  const bool said = fabs(late_ms) > 0.0 &&
                    (kept || both || report->command->bit == COMMAND_INSPECT);
  figures_set(of, "side_late_ms", said ? fabs(late_ms) : (double)NAN);
  figures_set(of, "side", late_ms > 0.0 ? "right" : "left");
  figures_set(of, "kept", kept);
}

/// Set what there is to tell of what was made from a take. Of one that takes
/// too much of the period to get loud that is told alone.
static void
set_made(Figures* of, const VwFamily* family, size_t index) {
  const VwTakeUse* const use = &family->uses[index];
  const double           gain_db = family->level.gain_db;
  figures_set(of, "raised_db", gain_db > 0.0 ? gain_db : (double)NAN);
  figures_set(of, "cancels", use->downmix == VW_DOWNMIX_STRONGER);
  figures_set(of,
              "late_ms",
              use->late_start_ms >= LATE_LEAST_MS && !figures_hold(of, "swells")
                ? use->late_start_ms
                : (double)NAN);
}

/// What the shot of a take is like. One that is joined has no start and no end.
static void
set_shot(Figures* of, const Input* input, bool joined, bool loops) {
  const VwShotFacts* const facts = &input->facts;
  figures_set(of, "attack_ms", facts->attack_ms);
  figures_set(of, "slow", !joined && facts->slow);
  figures_set(of, "rise_ms", facts->rise_ms);
  figures_set(of, "brisk_ms", facts->brisk_ms);
  figures_set(
    of, "earlier_db", joined ? (double)NAN : -facts->earlier_sound_db);
  figures_set(of, "earlier_ms", facts->earlier_sound_ms);
  figures_set(of, "torn_ms", facts->torn_ms);
  figures_set(of, "earlier_s", fmax(1e-3 * facts->torn_ms - 0.005, 0.0));
  figures_set(of,
              "faint_db",
              input->stretch_db < -STRETCH_MOST_DB ? -input->stretch_db
                                                   : (double)NAN);
  // What was cut here ends as it was meant to.
  figures_set(of,
              "cut_off",
              !joined && !loops && facts->cut_off &&
                !vw_is_own_take(input->path));
  figures_set(of, "end_db", -facts->end_db);
  figures_set(of, "clipped", facts->n_clipped_frames);
  figures_set(of, "big_offset", fabs(facts->dc_offset) >= BIG_OFFSET);
  figures_set(of, "offset", facts->dc_offset);
}

/// Set in which section of a list the sound stands, if it is of a pack.
static void
set_section(Figures* of, const Report* report) {
  figures_set(
    of, "section", report->packed ? report->packed->sound->wish->name : NULL);
}

static Figures*
take_of(const Report* report, size_t index) {
  const Input* const       input = &report->inputs[index];
  const VwShotFacts* const facts = &input->facts;
  const bool     joined = report->family && report->family->join.n_frames;
  Figures* const of = figures_new();
  const bool     inspects = report->command->bit == COMMAND_INSPECT;
  const bool     noise = facts->is_noise && !report->packed;
  figures_set(of, "no_shot", noise || (inspects && !input->has_shot));
  figures_set(of, "noise", noise);
  figures_set(of, "remedy", vw_remedy(VW_NO_SHOT));
  const VwShots* const split = report->split;
  figures_set(of,
              "sustained",
              report->family && !joined && facts->kind == VW_KIND_SUSTAINED);
  const unsigned pick = report->packed
                          ? report->packed->sound->options.find.pick
                          : report->settings->family.find.pick;
  figures_set(of, "laid", report->family && report->family->plan.shots);
  figures_set(of,
              "several",
              !joined && !split && !report->turns && !pick &&
                facts->shots_in_take > 1U);
  figures_set(of, "inspects", inspects);
  // A start is that of one take.
  figures_set(of, "starts", !split && report->n_inputs < 2U);
  set_section(of, report);
  figures_set(of,
              "told",
              report->settings->family.find.has_kind &&
                  facts->shots_in_take == 1U &&
                  (facts->kind == VW_KIND_SEVERAL_SHOTS ||
                   facts->kind == VW_KIND_RAPID_FIRE)
                ? vw_kind_name(facts->kind)
                : NULL);
  set_split(of, split);
  split_set_left(of, report);
  figures_set(of, "shots", facts->shots_in_take);
  figures_set(of, "rapid", facts->kind == VW_KIND_RAPID_FIRE);
  set_shot(of, input, joined, facts->kind == VW_KIND_SUSTAINED);
  set_side(of, report, index);
  if (report->family) {
    set_swell(of, facts, &report->family->plan);
    set_made(of, report->family, index);
  }
  return of;
}

/* Of the loop */

static const WarningKind kinds_of_loop[] = {
  {"chosen",
   "no fire rate, so that one was chosen",
   "no fire rate was given, so {asked_per_s} shots per second were chosen: "
   "give --fire-rate to set it"},
  {"rate_missed",
   "a fire rate that is not quite met",
   "{made_per_s} shots per second, over {most_percent:.6g} % off "
   "{asked_per_s}: give a longer --cycle-max, or a higher --sample-rate"},
  {"fewer",
   "variation that repeats soon",
   "the cycle holds only {shots} shots, so the variation repeats soon: try a "
   "longer --cycle-max"},
  {"shallow",
   "a valley less deep than asked",
   "the valley is {valley_db:.1f} dB, not {asked_db:.1f} dB, "
   "{bent_most?since the crest comes late: give a lower fire "
   "rate}{!bent_most?filled by the noise of {encoding}: give more --bits}"},
  {"softer_lu",
   "a rapid fire softer than the single shot",
   "the rapid fire is {softer_lu:.1f} LU softer than one shot: try"
   "{valley? " VALLEY "{shallower_db?{shallower_db:.4g} or }none}"
   "{valley choked?,}{choked? {section?tail = }{!section?--tail }overlap}"
   "{!valley !choked limited? a lower {!section?--}limiting-max}"
   "{as_shot?{valley?,}{!valley choked?,}{!valley !choked limited?,} "
   "{section?loud-as = }{!section?--loud-as }burst}"
   "{!valley !choked !limited !as_shot? a lower fire rate}"
   "{section !choked? in [sound {section}]}"},
  {"flutter",
   "a fade that no attack hides",
   "its faded end is heard as a flutter: give "
   "{covering_db?" VALLEY "{covering_db:.4g}}{covering_db forms?, or }"
   "{forms?{section?form = }{!section?--form }{forms}}"
   "{!forms !covering_db?a lower fire rate}{section? in [sound {section}]}"},
  {"gap_heard",
   "a gap too long to hide, which is heard",
   "the gap of {gap_ms:.4g} ms is heard after every {shots} shot{shots:s}, "
   "at {made_per_s:r} per second: {even_per_s?try {even_per_s:.5g} per "
   "second}{!even_per_s?use a board with a shorter one}"},
  {"run_in",
   "a run-in that is cut short",
   "the run-in is cut short and lacks sound {left_db:.1f} dB below the "
   "loop: give a longer --run-in-max"},
};

// Of the file that is repeated, whatever the loop is of.
static const WarningKind kinds_of_file[] = {
  {"parts_left",
   "parts of an earlier loop, left",
   "{left_first}{left_last? and {left_last}} of an earlier loop "
   "{left_last?are}{!left_last?is} left: delete what you do not want"},
  {"in_ogg",
   "a loop in Ogg, which may leave a gap",
   "{block_frames?Ogg pads a loop's last block, by up to {block_frames} "
   "frames ({block_ms:.0f} ms)}{!block_frames?players of Ogg may add silence "
   "to a loop}: use WAV against a gap{clicks? and a click}"},
};

/// Where a buffer or a board's bytes decide, more is forgiven.
static double
error_most_ppm(const Report* report) {
  const VwFamilyOptions* const wish = &report->settings->family;
  return wish->buffer_frames > 1U || wish->file_bytes_max ? GIVING_MOST_PPM
                                                          : VW_ERROR_MOST_PPM;
}

/// Set what there is to tell of a burst that is softer than its shot.
static void
set_softer(Figures* of, const Report* report) {
  const VwRange               valley = VW_RANGE_VALLEY_DB;
  const VwFamily* const       family = report->family;
  const VwLevelOptions* const wish = &report->settings->family.level;
  const double                lu =
    family->level.shot_loudness_lufs - family->level.burst_loudness_lufs;
  const bool shallower = family->valley_asked_db > valley.least;
  figures_set(of, "softer_lu", lu >= DB_SHOWN ? lu : (double)NAN);
  figures_set(of, "valley", !isnan(family->valley_asked_db));
  figures_set(of, "shallower_db", shallower ? valley.least : (double)NAN);
  figures_set(of, "choked", family->tail == VW_TAIL_CHOKE);
  // Under a valley or a choke it mostly squashes the shot alone as much.
  figures_set(of,
              "limited",
              family->level.limiting_db >= DB_SHOWN &&
                isnan(family->valley_asked_db) &&
                family->tail != VW_TAIL_CHOKE);
  figures_set(of,
              "as_shot",
              wish->aim == VW_AIM_LOUDNESS && wish->loud_as == VW_LOUD_AS_SHOT);
}

/// Forms with no fade that a board plays; NULL if it plays none of them.
static const char*
unfaded_forms(const Settings* settings) {
  const VwRepeat repeat = settings->board.repeat;
  return !settings->has_board              ? "pieces or loop-points"
         : repeat == VW_REPEAT_THREE_FILES ? vw_form_name(VW_FORM_PIECES)
         : repeat == VW_REPEAT_LOOP_POINTS ? vw_form_name(VW_FORM_LOOP_POINTS)
                                           : NULL;
}

/// Set what there is to tell of a file whose ends are faded.
static void
set_fade(Figures* of, const Report* report) {
  const VwFamily* const family = report->family;
  figures_set(of, "flutter", family->fade_cover_db < VW_COVER_LEAST_DB);
  figures_set(of, "covering_db", family->covering_db);
  figures_set(of, "forms", unfaded_forms(report->settings));
}

static Figures*
loop_of(const Report* report) {
  const VwFamily* const family = report->family;
  const VwPlan* const   plan = &family->plan;
  const double          most_ppm = error_most_ppm(report);
  const double   valley_db = isnan(family->valley_db) ? 0.0 : family->valley_db;
  Figures* const of = figures_new();
  // Of a pack it is told how many.
  figures_set(of, "chosen", plan->chosen && !report->packed);
  figures_set(of, "asked_per_s", plan->fire_rate_asked_per_s);
  figures_set(of, "made_per_s", plan->fire_rate_per_s);
  figures_set(
    of, "rate_missed", fabs(plan->error_ppm) > most_ppm && !plan->uneven);
  figures_set(of, "most_percent", most_ppm / 1e4);
  figures_set(of, "fewer", plan->fewer_shots);
  figures_set(of, "shots", plan->shots);
  figures_set(of,
              "shallow",
              !isnan(family->valley_asked_db) &&
                !(family->valley_db >= family->valley_asked_db - DB_SHOWN));
  figures_set(of, "valley_db", valley_db);
  figures_set(of, "asked_db", family->valley_asked_db);
  figures_set(of, "bent_most", family->bent_most);
  figures_set(of, "encoding", vw_encoding_name(family->format.encoding));
  figures_set(of, "gap_heard", plan->uneven);
  figures_set(of, "gap_ms", 1000.0 * (double)plan->gap_frames / plan->rate_hz);
  figures_set(of, "even_per_s", slower(plan->even_fire_rate_per_s, 1e-3));
  figures_set(of,
              "run_in",
              isfinite(family->run_in_left_db) &&
                family->form != VW_FORM_WHOLE_FILE &&
                family->form != VW_FORM_BURST);
  figures_set(of, "left_db", family->run_in_left_db);
  set_section(of, report);
  set_softer(of, report);
  set_fade(of, report);
  return of;
}

/// Whether a part was written now.
static bool
has_part(const Report* report, VwPart part) {
  bool found = false;
  for (size_t i = 0; i < report->n_files; ++i) {
    found |= report->files[i].part == part;
  }
  return found;
}

/// Set which parts of a loop made earlier lie beside the one that was written,
/// which has none.
static void
set_left(Figures* of, const Report* report, const char* loop) {
  static const VwPart parts[] = {VW_PART_RUN_IN, VW_PART_RING_OUT};
  const SoundName     name = sound_name_of(loop);
  size_t              n = 0;
  for (size_t i = 0; i < sizeof(parts) / sizeof(parts[0]); ++i) {
    const bool wanted = name.has_part && !report->settings->has_part &&
                        !has_part(report, parts[i]);
    char* const path = wanted ? sound_name_sibling(&name, parts[i]) : NULL;
    if (path && vw_is_own_output(path)) {
      figures_set(of, n ? "left_last" : "left_first", vw_path_name(path));
      figures_set_some(of, "parts_left", ++n);
    }
    free(path);
  }
}

static Figures*
file_of(const Report* report) {
  Figures* const        of = figures_new();
  const Settings* const settings = report->settings;
  const VwJoin* const   join = &report->family->join;
  const bool            ogg =
    settings->has_board && settings->board.container == VW_CONTAINER_OGG;
  for (size_t i = 0; i < report->n_files; ++i) {
    const MadeFile* const file = &report->files[i];
    if (file->part == VW_PART_LOOP && !report->packed) {
      set_left(of, report, file->path);
    }
    if (file->part == VW_PART_LOOP && ogg) {
      figures_set(of, "in_ogg", true);
      figures_set(
        of, "block_frames", file->whole_blocks ? 0U : file->block_frames);
      figures_set(of, "block_ms", 1000.0 * file->block_frames / file->rate_hz);
      figures_set(of,
                  "clicks",
                  join->n_frames && join->kind != VW_JOIN_SHOTS &&
                    file->block_frames && !file->whole_blocks);
      break;
    }
  }
  return of;
}

/* All */

/// Add what there is to say of some kinds, and free the figures.
static void
add(Report*            report,
    const char*        take,
    Figures*           of,
    const WarningKind* kinds,
    size_t             n_kinds) {
  for (size_t i = 0; i < n_kinds; ++i) {
    const WarningKind* const kind = &kinds[i];
    char* const              text =
      figures_hold(of, kind->id) ? figures_words(of, kind->words) : NULL;
    if (text) {
      report->warnings[report->n_warnings++] =
        (Warning){take, text, kind->brief, kind->id};
    }
  }
  figures_free(of);
}

bool
report_warn(Report* report) {
  const VwFamily* const family = report->family;
  // Of a sound of a pack the first take alone is known.
  const size_t n_inputs = report->packed ? 1U : report->n_inputs;
  const size_t n_most =
    sizeof(kinds_of_take) / sizeof(WarningKind) * n_inputs + KINDS_OF_LEVEL +
    KINDS_OF_JOIN +
    (sizeof(kinds_of_loop) + sizeof(kinds_of_file)) / sizeof(WarningKind);
  if (report->warnings) {
    return true;
  }
  report->warnings = calloc(n_most, sizeof(Warning));
  if (!report->warnings) {
    return false;
  }
  for (size_t i = 0; i < n_inputs; ++i) {
    add(
      report, report->inputs[i].path, take_of(report, i), KINDS(kinds_of_take));
  }
  if (family) {
    add(report, NULL, level_of(report), kinds_of_level, KINDS_OF_LEVEL);
  }
  const bool joined = family && family->join.n_frames;
  if (joined) {
    add(report, NULL, join_of(report), kinds_of_join, KINDS_OF_JOIN);
  } else if (family && family->plan.shots) {
    add(report, NULL, loop_of(report), KINDS(kinds_of_loop));
  }
  if (joined || (family && family->plan.shots)) {
    add(report, NULL, file_of(report), KINDS(kinds_of_file));
  }
  return true;
}

const WarningKind*
report_warning_kind(size_t index) {
  static const struct {
    const WarningKind* kinds;
    size_t             n_kinds;
  } all[] = {{KINDS(kinds_of_take)},
             {KINDS(kinds_of_loop)},
             {KINDS(kinds_of_file)},
             {kinds_of_level, KINDS_OF_LEVEL},
             {kinds_of_join, KINDS_OF_JOIN}};
  for (size_t i = 0; i < sizeof(all) / sizeof(all[0]); ++i) {
    if (index < all[i].n_kinds) {
      return &all[i].kinds[index];
    }
    index -= all[i].n_kinds;
  }
  return NULL;
}

const char*
report_warning(const Report* report, const char* id) {
  for (size_t i = 0; i < report->n_warnings; ++i) {
    if (!strcmp(report->warnings[i].id, id)) {
      return report->warnings[i].text;
    }
  }
  return NULL;
}
