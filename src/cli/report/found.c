#include "cli/report/sections.h"

#include "take/events.h"

#include <math.h>
#include <stdlib.h>

// Before, a loudness range is not stable (EBU Tech 3342).
#define RANGE_STABLE_S 60.0

// So many shots are told one by one.
#define SHOTS_LISTED 8U

// Others are told as evenly apart up to this ratio of the widest to the
// nearest.
#define EVEN 1.02

/* Figures */

/// Each shot of a take that has several: NULL of any other.
static Figures*
places_of(const Input* input) {
  const VwEvents* const events = &input->events;
  const double          per_frame = 1000.0 / input->take.sound.rate_hz;
  if (input->facts.shots_in_take < 2U || !events->n_events) {
    return NULL;
  }
  Figures* const list = figures_list();
  for (size_t i = 0; i < events->n_events; ++i) {
    const VwEvent* const event = &events->events[i];
    Figures* const       place = figures_new();
    figures_set(place, "start_ms", per_frame * (double)event->start_frame);
    figures_set(place, "crest_ms", per_frame * (double)event->crest_frame);
    figures_set(place, "end_ms", per_frame * (double)event->end_frame);
    figures_set(place, "level_db", event->level_db);
    figures_add(list, place);
  }
  return list;
}

/// The steady fire of a take; NULL of one without.
static Figures*
rapid_of(const VwShotFacts* facts) {
  if (isnan(facts->rapid_per_s)) {
    return NULL;
  }
  Figures* const rapid = figures_new();
  figures_set(rapid, "fire_rate_per_s", facts->rapid_per_s);
  figures_set(rapid, "uncertainty_per_s", facts->rapid_uncertainty_per_s);
  figures_set(rapid, "jitter_ms", facts->rapid_jitter_ms);
  return rapid;
}

Figures*
found_shot(const Report* report, size_t index) {
  const Input* const       input = &report->inputs[index];
  const VwShotFacts* const facts = &input->facts;
  const VwFamily* const    family = report->family;
  const bool               burst = family && family->plan.shots;
  if (input->status || !input->has_shot) {
    return NULL;
  }
  Figures* const shot = figures_new();
  figures_set(shot, "kind", vw_kind_name(facts->kind));
  figures_set(shot, "other_kind", vw_kind_name(facts->other_kind));
  figures_set(shot, "kind_sure", facts->sure);
  figures_set(shot, "attack_ms", facts->attack_ms);
  figures_set(shot, "crest_ms", facts->crest_ms);
  figures_set(shot, "end_ms", facts->end_ms);
  figures_set(shot, "valley_ms", facts->valley_ms);
  figures_set(shot, "length_ms", facts->length_ms);
  figures_set(shot, "tail_cut_db", -facts->end_db);
  figures_set(shot, "rise_ms", facts->rise_ms);
  figures_set(shot, "slow_attack", facts->slow);
  figures_set(shot, "decay_t20_s", facts->decay_t20_s);
  figures_set(shot, "decay_t30_s", facts->decay_t30_s);
  figures_set(shot, "pitch_attack_hz", facts->pitch_attack_hz);
  figures_set(shot, "pitch_tail_hz", facts->pitch_tail_hz);
  figures_set(shot, "noise_floor_dbfs", facts->noise_floor_dbfs);
  figures_set(shot, "dc_offset", facts->dc_offset);
  figures_set(shot, "clipped_frames", facts->n_clipped_frames);
  figures_set(shot, "side_late_ms", facts->side_late_ms);
  figures_set(shot, "shots_in_take", facts->shots_in_take);
  figures_set(shot, "places", places_of(input));
  figures_set(shot, "rapid", rapid_of(facts));
  figures_set(shot, "fastest_fire_rate_per_s", facts->fastest_fire_rate_per_s);
  figures_set(shot,
              "late_start_ms",
              !burst           ? (double)NAN
              : report->packed ? report->packed->sound->late_start_ms
                               : family->uses[index].late_start_ms);
  return shot;
}

Figures*
found_loudness(const Input* input) {
  const VwLoudness* const of = &input->loudness;
  if (!input->has_loudness) {
    return NULL;
  }
  Figures* const made = figures_new();
  figures_set(made, "integrated_lufs", of->integrated_lufs);
  figures_set(made, "momentary_max_lufs", of->momentary_max_lufs);
  figures_set(made, "short_term_max_lufs", of->short_term_max_lufs);
  figures_set(made, "range_lu", of->range_lu);
  figures_set(made, "true_peak_dbtp", of->true_peak_dbtp);
  figures_set(made, "crest_factor_db", of->crest_factor_db);
  figures_set(made, "energy_below_350hz", of->energy_below_350hz);
  figures_set(made, "energy_below_800hz", of->energy_below_800hz);
  return made;
}

/* Its own fire rate */

// Digits behind the point at most (chosen here).
#define RATE_DIGITS 4

/// Digits behind the point down to the first one that is uncertain.
static int
rate_digits(const VwShotFacts* facts) {
  const double digits = ceil(-log10(facts->rapid_uncertainty_per_s));
  return (int)fmin(fmax(digits, 0.0), RATE_DIGITS);
}

char*
found_rate(const VwShotFacts* facts, double per_s) {
  return isnan(facts->rapid_per_s)
           ? NULL
           : text_format("%.*f", rate_digits(facts), per_s);
}

/// Set it as a person reads it; the uncertainty is rounded up.
static void
set_rate(Figures* shot, const VwShotFacts* facts) {
  const int    digits = rate_digits(facts);
  const double steps = pow(10.0, digits);
  const double least = facts->rapid_uncertainty_per_s * steps - 1e-6;
  figures_set_made(shot, "own_rate", found_rate(facts, facts->rapid_per_s));
  figures_set_made(shot,
                   "uncertainty",
                   text_format("%.*f", digits, fmax(ceil(least), 1.0) / steps));
}

/* Lines */

static const Line take_lines[] = {
  {NULL, "Found in {path}", "named"},
  {"take",
   "{length_ms}, {sample_rate_hz} Hz, {channels} channel{channels:s}",
   "whole"},
};

static const Line shot_lines[] = {
  {"kind",
   "{kind}{told?, as given}{unsure?, or else {other_kind}: it "
   "is near both}",
   "whole"},
  {"found",
   "{kind}{unsure?, or else {other_kind}}, {length_ms}{!rapid !goes_on?; "
   "{fastest_fire_rate_per_s?up to {fastest_fire_rate_per_s:.1f}}"
   "{!fastest_fire_rate_per_s?below 4} shots/s with its tail (echo) "
   "untouched}",
   "!whole",
   true},
  {"overrule", "--as {as}, or --as {other_as}", "unsure"},
  {"shots", "{listed}", "listed", true},
  {"shots",
   "{shots_in_take}, {apart_ms} apart, from {first_ms} to {last_ms}",
   "apart_ms"},
  {"shots",
   "{shots_in_take}, {least_ms} to {most_ms} apart, from {first_ms} to "
   "{last_ms}",
   "least_ms"},
  {"rapid fire",
   "{own_rate} shots per second (+-{uncertainty}), jitter {rapid.jitter_ms}",
   "rapid"},
  {"attack", "at {attack_ms}, rise time {rise_ms}", "verbose"},
  {"length",
   "{length_ms}, cut where its tail is {tail_cut_db} down",
   "whole tail_cut_db !goes_on"},
  {"length",
   "{length_ms}, to where nothing is left of it",
   "whole !tail_cut_db !goes_on"},
  {"length", "{length_ms}, in which it does not die away", "whole goes_on"},
  {"decay",
   "{decay_t20_s} to fall by 60 dB (T20), {decay_t30_s} (T30)",
   "verbose decay_t20_s"},
  {"decay", "unknown: it does not fall by 25 dB", "verbose !decay_t20_s"},
  {"pitch",
   "{pitch_attack_hz} at the attack, {pitch_tail_hz} in the tail",
   "whole pitched !goes_on"},
  {"pitch", "{pitch_attack_hz} at its start", "whole pitched goes_on"},
  {"noise floor", "{noise_floor_dbfs}", "whole noise_floor_dbfs"},
  {"noise floor",
   "unknown: no steady stretch before or behind it",
   "verbose !noise_floor_dbfs"},
  {"fires",
   "{rapid?that shot alone, }{fastest_fire_rate_per_s?up to "
   "{fastest_fire_rate_per_s:.1f}}{!fastest_fire_rate_per_s?below 4}/s "
   "untouched; faster, its tail (echo) is lowered until each shot is heard: "
   "tightening",
   "whole !goes_on",
   true},
};

static const Line loudness_lines[] = {
  {"loudness",
   "{momentary_max_lufs} over its loudest 400 ms, in silence"
   "{several_channels?, all channels}"},
  {"short-term",
   "{short_term_max_lufs} at most",
   "verbose short_term_max_lufs"},
  {"short-term",
   "none, it is shorter than 3 s",
   "verbose !short_term_max_lufs"},
  {"integrated",
   "{integrated_lufs}, loudness range {range_lu}"
   "{unstable?, which is not stable before 60 s}",
   "verbose"},
  {"true peak", "{true_peak_dbtp}, crest factor {crest_factor_db}"},
  {"energy",
   "{energy_below_350hz:%} below 350 Hz, {energy_below_800hz:%} below 800 Hz",
   "verbose"},
};

/// Where each shot lies, as a list.
static char*
list_of(const Input* input) {
  const VwEvents* const events = &input->events;
  char*                 list = text_format("%zu, at", events->n_events);
  for (size_t i = 0; list && i < events->n_events; ++i) {
    char         at[40];
    const double ms = 1000.0 * (double)events->events[i].start_frame /
                      input->take.sound.rate_hz;
    list = text_more(list, i ? ", " : " ", "%s", line_duration(at, ms));
  }
  return list;
}

/// Set how far apart the shots lie: what is steady has one figure.
static void
set_apart(Figures* shot, const Input* input) {
  const VwEvents* const events = &input->events;
  const double          per_frame = 1000.0 / input->take.sound.rate_hz;
  const size_t          last = events->n_events - 1U;
  double                least_ms = HUGE_VAL;
  double                most_ms = 0.0;
  for (size_t i = 0; i < last; ++i) {
    const double ms = per_frame * (double)(events->events[i + 1U].start_frame -
                                           events->events[i].start_frame);
    least_ms = fmin(least_ms, ms);
    most_ms = fmax(most_ms, ms);
  }
  if (input->facts.kind == VW_KIND_RAPID_FIRE) {
    figures_set(shot, "apart_ms", 1000.0 / input->facts.rapid_per_s);
  } else if (most_ms <= EVEN * least_ms) {
    figures_set(shot, "apart_ms", 0.5 * (least_ms + most_ms));
  } else {
    figures_set(shot, "least_ms", least_ms);
    figures_set(shot, "most_ms", most_ms);
  }
  figures_set(
    shot, "first_ms", per_frame * (double)events->events[0].start_frame);
  figures_set(
    shot, "last_ms", per_frame * (double)events->events[last].start_frame);
}

/// Set what a person is told of the kind and the shots.
static void
set_shots(Figures* shot, const Input* input, bool told) {
  const VwShotFacts* const facts = &input->facts;
  const size_t             n = input->events.n_events;
  if (!shot) {
    return;
  }
  figures_set(shot, "told", told);
  if (isfinite(facts->rapid_per_s)) {
    set_rate(shot, facts);
  }
  figures_set(shot, "goes_on", facts->kind == VW_KIND_SUSTAINED);
  figures_set(shot, "as", choice_word(words_kind, (int)facts->kind));
  figures_set(
    shot, "other_as", choice_word(words_kind, (int)facts->other_kind));
  figures_set(shot,
              "unsure",
              facts->sure < VW_SURE_LEAST && facts->other_kind != facts->kind);
  if (facts->shots_in_take > 1U && n > 1U && n <= SHOTS_LISTED) {
    figures_set_made(shot, "listed", list_of(input));
  } else if (facts->shots_in_take > 1U && n > 1U) {
    set_apart(shot, input);
  }
}

void
found_text(const Report* report, size_t index, FILE* out) {
  const Input* const   input = &report->inputs[index];
  const VwSound* const sound = &input->take.sound;
  Figures* const       take = figures_new();
  Figures* const       shot = found_shot(report, index);
  Figures* const       loudness = found_loudness(input);
  const bool           verbose = report->settings->verbose;
  // All that there is to say of a take if nothing is made of it.
  const bool whole = verbose || !report->family;
  set_shots(shot, input, report->settings->family.find.has_kind);
  figures_set(shot, "verbose", verbose);
  figures_set(shot, "whole", whole);
  figures_set(shot,
              "pitched",
              verbose || isfinite(input->facts.pitch_attack_hz) ||
                isfinite(input->facts.pitch_tail_hz));
  figures_set(loudness, "verbose", verbose);
  figures_set(take, "whole", whole);
  figures_set(take, "named", verbose || report->settings->n_takes > 1U);
  figures_set(take, "path", input->path);
  figures_set(
    take, "length_ms", 1000.0 * (double)sound->n_frames / sound->rate_hz);
  figures_set(take, "sample_rate_hz", sound->rate_hz);
  figures_set(take, "channels", sound->n_channels);
  figures_set(loudness, "several_channels", sound->n_channels > 1U);
  figures_set(loudness,
              "unstable",
              isfinite(input->loudness.range_lu) &&
                (double)sound->n_frames < RANGE_STABLE_S * sound->rate_hz);
  figures_lines(take, LINES(take_lines), out);
  figures_lines(shot, LINES(shot_lines), out);
  figures_lines(loudness, LINES(loudness_lines), out);
  figures_free(take);
  figures_free(shot);
  figures_free(loudness);
}
