#include "burst/burst.h"

#include "base/ranges.h"
#include "base/units.h"
#include "burst/internal.h"
#include "container/container.h"
#include "signal/signal.h"
#include "take/take.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

VwFormat
vw_format_defaults(void) {
  return (VwFormat){
    .n_channels = 1U, .encoding = VW_ENCODING_S16, .dither = VW_DITHER_TPDF};
}

VwFamilyOptions
vw_family_defaults(void) {
  return (VwFamilyOptions){
    .format = vw_format_defaults(),
    .find = vw_find_defaults(),
    .form = VW_FORM_PIECES,
    .burst_shots = 3U,
    .cycle_max_s = 2.0,
    .buffer_frames = 1U,
    .block_frames = 1U,
    .tail = VW_TAIL_OVERLAP,
    .valley_db = VW_VALLEY_APART_DB,
    .fade_ms = VW_FADE_USUAL_MS,
    .level = vw_level_defaults(),
    .lamp_track = {.tone_hz = 3000.0, .level_dbfs = -6.0},
    .seed = 1U};
}

static bool
format_is_sound(const VwFormat* format) {
  return vw_is_zero_or_within(format->rate_hz,
                              (VwRange)VW_RANGE_SAMPLE_RATE_HZ) &&
         vw_is_within(format->n_channels, (VwRange)VW_RANGE_CHANNELS) &&
         format->encoding <= VW_ENCODING_FLOAT &&
         format->dither <= VW_DITHER_NONE;
}

static bool
board_is_sound(const VwFamilyOptions* options) {
  return vw_is_within(options->fade_ms, (VwRange)VW_RANGE_FADE_MS) &&
         vw_is_within(options->gap_ms, (VwRange)VW_RANGE_GAP_MS) &&
         vw_is_within(options->buffer_frames,
                      (VwRange)VW_RANGE_BUFFER_FRAMES) &&
         vw_is_within(options->block_frames, (VwRange)VW_RANGE_BUFFER_FRAMES) &&
         vw_is_zero_or_within(options->run_in_max_s,
                              (VwRange)VW_RANGE_RUN_IN_S);
}

static bool
level_is_sound(const VwLevelOptions* level) {
  return level->aim <= VW_AIM_GAIN && level->loud_as <= VW_LOUD_AS_BURST &&
         vw_is_within(level->loudness_lufs, (VwRange)VW_RANGE_LOUDNESS_LUFS) &&
         vw_is_within(level->gain_db, (VwRange)VW_RANGE_GAIN_DB) &&
         vw_is_within(level->ceiling_dbtp, (VwRange)VW_RANGE_CEILING_DBTP) &&
         (isnan(level->limiting_max_db) ||
          vw_is_within(level->limiting_max_db,
                       (VwRange)VW_RANGE_LIMITING_DB)) &&
         vw_speaker_is_sound(&level->speaker);
}

static bool
lamp_is_sound(const VwFamilyOptions* options) {
  const VwLampTrackOptions* const track = &options->lamp_track;
  return vw_is_zero_or_within(options->lamp_on_ms,
                              (VwRange)VW_RANGE_LAMP_ON_MS) &&
         vw_is_within(track->tone_hz, (VwRange)VW_RANGE_TRACK_HZ) &&
         vw_is_within(track->level_dbfs, (VwRange)VW_RANGE_TRACK_DBFS);
}

static bool
burst_is_sound(const VwFamilyOptions* options) {
  return options->form <= VW_FORM_BURST && options->tail <= VW_TAIL_CHOKE &&
         options->tightening <= VW_BEND_NATURAL &&
         vw_is_within(options->burst_shots, (VwRange)VW_RANGE_BURST_SHOTS) &&
         vw_is_zero_or_within(options->fire_rate_per_s,
                              (VwRange)VW_RANGE_FIRE_RATE_PER_S) &&
         vw_is_zero_or_within(options->shots, (VwRange)VW_RANGE_CYCLE_SHOTS) &&
         vw_is_within(options->cycle_max_s, (VwRange)VW_RANGE_CYCLE_S) &&
         vw_is_zero_or_within(options->cycle_s, (VwRange)VW_RANGE_CYCLE_S) &&
         (isnan(options->valley_db) ||
          vw_is_within(options->valley_db, (VwRange)VW_RANGE_VALLEY_DB)) &&
         vw_is_within(options->kick_db, (VwRange)VW_RANGE_KICK_DB) &&
         vw_is_within(options->detune_cents, (VwRange)VW_RANGE_DETUNE_CENTS) &&
         vw_is_within(options->level_spread_db,
                      (VwRange)VW_RANGE_LEVEL_SPREAD_DB) &&
         vw_is_zero_or_within(options->variants, (VwRange)VW_RANGE_VARIANTS);
}

bool
vw_options_are_sound(const VwFamilyOptions* options, size_t n_takes) {
  // One loop holds a shot of each take at least.
  const bool alone = options->shot_only || options->whole;
  return (alone
            ? n_takes > 0U
            : vw_is_within((double)n_takes, (VwRange)VW_RANGE_CYCLE_SHOTS)) &&
         options->shots % n_takes == 0U && format_is_sound(&options->format) &&
         burst_is_sound(options) && board_is_sound(options) &&
         lamp_is_sound(options) && level_is_sound(&options->level);
}

VwFindOptions
vw_find_wish(const VwFamilyOptions* options) {
  VwFindOptions finding = options->find;
  finding.board_noise_dbfs = fmax(
    finding.board_noise_dbfs, vw_encoding_noise_dbfs(options->format.encoding));
  return finding;
}

// Frames of a burst that are summed up at once.
#define BLOCK_FRAMES 4096U

// What comes before an attack is covered by it for so long (E. Zwicker, H.
// Fastl, "Psychoacoustics", 4.4: pre-masking lasts for about 20 ms).
#define COVERED_S 0.020

size_t
vw_volley_longest(const VwVolley* volley) {
  size_t longest = 0;
  for (unsigned i = 0; i < volley->plan->shots; ++i) {
    const size_t n = volley->shots[i].n_frames;
    longest = n > longest ? n : longest;
  }
  return longest;
}

/// A shot as it lies in the burst: whole, or faded from `fade_from` on.
typedef struct {
  const VwSound* sound;
  size_t         fade_from;
  size_t         fade_frames;
  size_t         n_frames; ///< What is left of it.
} Laid;

static Laid
laid_shot(const VwVolley* volley, size_t index, bool followed) {
  const VwSound* const sound = &volley->shots[index % volley->plan->shots];
  Laid                 laid = {sound, sound->n_frames, 0U, sound->n_frames};
  if (followed && volley->tail == VW_TAIL_CHOKE) {
    laid.fade_from = vw_plan_start(volley->plan, index + 1U) -
                     vw_plan_start(volley->plan, index);
    laid.fade_frames = vw_frames_of_s(VW_CHOKE_S, sound->rate_hz);
    const size_t end = laid.fade_from + laid.fade_frames;
    laid.n_frames = end < sound->n_frames ? end : sound->n_frames;
  }
  return laid;
}

static double
gain_at(const Laid* laid, size_t frame) {
  return frame < laid->fade_from
           ? 1.0
           : vw_fade_out_at(frame - laid->fade_from, laid->fade_frames);
}

/// Add frames [from, to) of a shot.
static void
add_part(const Laid* laid, size_t from, size_t to, double* sum) {
  const size_t n_channels = laid->sound->n_channels;
  const float* value = laid->sound->values;
  const size_t n_whole = laid->fade_from < to ? laid->fade_from : to;
  size_t       i = from * n_channels;
  for (; i < n_whole * n_channels; ++i) {
    *sum++ += (double)value[i];
  }
  for (; i < to * n_channels; ++i) {
    *sum++ += (double)value[i] * gain_at(laid, i / n_channels);
  }
}

/// A part of a burst that is being laid down.
typedef struct {
  size_t  from;
  size_t  to;
  size_t  first; ///< The first shot that may still sound in it.
  double* sums;
} Block;

/// Sum up the shots in a block, which follows the last one.
static void
sum_up(const VwVolley* volley, size_t n_shots, Block* block) {
  const VwPlan* const plan = volley->plan;
  const size_t        n_channels = volley->shots->n_channels;
  const size_t        longest = vw_volley_longest(volley);
  memset(
    block->sums, 0, (block->to - block->from) * n_channels * sizeof(double));
  while (vw_plan_start(plan, block->first) + longest <= block->from) {
    ++block->first;
  }
  for (size_t i = block->first; i < n_shots; ++i) {
    const Laid   laid = laid_shot(volley, i, i + 1U < n_shots);
    const size_t start = vw_plan_start(plan, i);
    const size_t end = start + laid.n_frames;
    const size_t low = start > block->from ? start : block->from;
    const size_t high = end < block->to ? end : block->to;
    if (start >= block->to) {
      break;
    }
    if (low < high) {
      add_part(&laid,
               low - start,
               high - start,
               block->sums + (low - block->from) * n_channels);
    }
  }
}

VwStatus
vw_burst_lay(const VwVolley* volley, size_t n_shots, VwSound* burst) {
  size_t n_frames = 0;
  for (size_t i = 0; i < n_shots; ++i) {
    const Laid   laid = laid_shot(volley, i, i + 1U < n_shots);
    const size_t end = vw_plan_start(volley->plan, i) + laid.n_frames;
    n_frames = end > n_frames ? end : n_frames;
  }
  const size_t n_channels = volley->shots->n_channels;
  VwSound      out = {0};
  Block block = {.sums = malloc(BLOCK_FRAMES * n_channels * sizeof(double))};
  const VwStatus st =
    block.sums ? vw_sound_init(
                   &out, n_frames, (unsigned)n_channels, volley->shots->rate_hz)
               : VW_NO_MEMORY;
  for (; !st && block.from < n_frames; block.from = block.to) {
    const size_t n_left = n_frames - block.from;
    block.to = block.from + (n_left < BLOCK_FRAMES ? n_left : BLOCK_FRAMES);
    sum_up(volley, n_shots, &block);
    float* const values = out.values + block.from * n_channels;
    for (size_t i = 0; i < (block.to - block.from) * n_channels; ++i) {
      values[i] = (float)block.sums[i];
    }
  }
  free(block.sums);
  if (!st) {
    *burst = out;
  }
  return st;
}

void
vw_burst_close_cycle(VwSound* cycle, size_t n_gap) {
  const size_t n = vw_frames_of_s(VW_CYCLE_FADE_S, cycle->rate_hz);
  const size_t n_file = cycle->n_frames - n_gap;
  for (size_t i = 0; i < n; ++i) {
    const double gain = 1.0 - vw_fade_out_at(i, n);
    vw_sound_scale_frame(cycle, i, gain);
    vw_sound_scale_frame(cycle, n_file - 1U - i, gain);
  }
  memset(cycle->values + n_file * cycle->n_channels,
         0,
         n_gap * cycle->n_channels * sizeof(float));
}

VwStatus
vw_burst_fade_cover(const VwSound* cycle, double* cover_db) {
  const size_t n = cycle->n_frames;
  VwSound      twice = {0};
  VwCurve      curve = {0};
  VwStatus     st = vw_sound_part(cycle, 0U, 2U * n, &twice);
  if (!st) {
    const size_t n_values = n * cycle->n_channels;
    memcpy(twice.values + n_values, cycle->values, n_values * sizeof(float));
    st = vw_curve_take(&twice, &curve);
  }
  if (!st) {
    // The levels' window keeps clear of the fades.
    const size_t aside =
      vw_curve_steps(&curve, VW_CYCLE_FADE_S + VW_LEVEL_WINDOW_S / 2.0);
    const size_t covered =
      vw_curve_steps(&curve, COVERED_S - VW_LEVEL_WINDOW_S / 2.0);
    const size_t seam = n / curve.n_step;
    const double crest =
      curve.level[vw_curve_crest(&curve, seam, curve.n_steps)];
    const double attack =
      curve.level[vw_curve_crest(&curve, seam + aside, seam + covered + 1U)];
    const double least = crest * vw_power_of_db(-VW_VALLEY_DEEPEST_DB);
    const double tail = curve.level[seam - aside];
    *cover_db = tail > least ? vw_db_of_power(fmax(attack, least) / tail)
                             : VW_VALLEY_DEEPEST_DB;
  }
  vw_curve_clear(&curve);
  vw_sound_clear(&twice);
  return st;
}

/// Add a shot that starts at value `at` of a cycle, round and round.
static void
fold_shot(const Laid* laid, size_t at, VwSound* cycle) {
  const size_t n_channels = cycle->n_channels;
  const size_t n_cycle = cycle->n_frames * n_channels;
  const float* value = laid->sound->values;
  const size_t n_whole =
    laid->fade_from < laid->n_frames ? laid->fade_from : laid->n_frames;
  for (size_t left = n_whole * n_channels; left > 0U;) {
    const size_t n = left < n_cycle - at ? left : n_cycle - at;
    for (size_t i = 0; i < n; ++i) {
      cycle->values[at + i] += value[i];
    }
    value += n;
    left -= n;
    at = at + n == n_cycle ? 0U : at + n;
  }
  for (size_t frame = n_whole; frame < laid->n_frames; ++frame) {
    const float gain = (float)gain_at(laid, frame);
    for (size_t c = 0; c < n_channels; ++c) {
      cycle->values[at++] += *value++ * gain;
    }
    at = at == n_cycle ? 0U : at;
  }
}

VwStatus
vw_burst_fold(const VwVolley* volley, VwSound* cycle) {
  const size_t n_channels = cycle->n_channels;
  const size_t n_values = cycle->n_frames * n_channels;
  memset(cycle->values, 0, n_values * sizeof(float));
  for (unsigned shot = 0; shot < volley->plan->shots; ++shot) {
    const Laid laid = laid_shot(volley, shot, true);
    fold_shot(&laid, vw_plan_start(volley->plan, shot) * n_channels, cycle);
  }
  const VwStatus st =
    vw_limiter_run_steady(volley->ceiling, volley->limiting_most_db, cycle);
  if (!st && volley->closed) {
    vw_burst_close_cycle(cycle, volley->plan->gap_frames);
  }
  return st;
}
