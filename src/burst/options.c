#include "base/ranges.h"
#include "burst/burst.h"
#include "container/container.h"
#include "signal/signal.h"

#include <math.h>

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
         vw_is_zero_or_within(options->run_in_max_s,
                              (VwRange)VW_RANGE_RUN_IN_S);
}

static bool
level_is_sound(const VwLevelOptions* level) {
  return level->aim <= VW_AIM_GAIN && level->loud_as <= VW_LOUD_AS_BURST &&
         vw_is_within(level->loudness_lufs, (VwRange)VW_RANGE_LOUDNESS_LUFS) &&
         vw_is_within(level->gain_db, (VwRange)VW_RANGE_GAIN_DB) &&
         vw_is_within(level->ceiling_dbtp, (VwRange)VW_RANGE_CEILING_DBTP) &&
         vw_is_within(level->limiting_max_db, (VwRange)VW_RANGE_LIMITING_DB) &&
         vw_is_zero_or_within(level->speaker_hz, (VwRange)VW_RANGE_SPEAKER_HZ);
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
