#include "cli/report/sections.h"

#include <math.h>

// Before, a loudness range is not stable (EBU Tech 3342).
#define RANGE_STABLE_S 60.0

/* Figures */

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
  figures_set(shot, "shots_in_take", facts->shots_in_take);
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

/* Lines */

static const Line take_lines[] = {
  {NULL, "Found in {path}"},
  {"take", "{length_ms}, {sample_rate_hz} Hz, {channels} channel{channels:s}"},
};

static const Line shot_lines[] = {
  {"kind", "{kind}"},
  {"attack", "at {attack_ms}, full level after {rise_ms}"},
  {"length",
   "{length_ms}, cut where its tail is {tail_cut_db} down",
   "tail_cut_db"},
  {"length", "{length_ms}, to where nothing is left of it", "!tail_cut_db"},
  {"decay", "{decay_t20_s} to fall by 60 dB (T20), {decay_t30_s} (T30)"},
  {"pitch", "{pitch_attack_hz} at the attack, {pitch_tail_hz} in the tail"},
  {"noise floor", "{noise_floor_dbfs}", "noise_floor_dbfs"},
  {"noise floor",
   "unknown: no steady stretch before or behind it",
   "!noise_floor_dbfs"},
  {"fires",
   "up to {fastest_fire_rate_per_s:.1f} shots per second untouched",
   "fastest_fire_rate_per_s"},
  {"fires",
   "untouched below 4 shots per second only, its tail is long",
   "!fastest_fire_rate_per_s"},
};

static const Line loudness_lines[] = {
  {"momentary",
   "{momentary_max_lufs} at most, in silence"
   "{several_channels?, of all channels together}"},
  {"short-term", "{short_term_max_lufs} at most", "short_term_max_lufs"},
  {"short-term", "none, it is shorter than 3 s", "!short_term_max_lufs"},
  {"integrated",
   "{integrated_lufs}, loudness range {range_lu}"
   "{unstable?, which is not stable before 60 s}"},
  {"true peak", "{true_peak_dbtp}, crest factor {crest_factor_db}"},
  {"energy",
   "{energy_below_350hz:%} below 350 Hz, {energy_below_800hz:%} below 800 Hz"},
};

void
found_text(const Report* report, size_t index, FILE* out) {
  const Input* const   input = &report->inputs[index];
  const VwSound* const sound = &input->take.sound;
  Figures* const       take = figures_new();
  Figures* const       shot = found_shot(report, index);
  Figures* const       loudness = found_loudness(input);
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
