#include "burst/options.h"

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
    .form = VW_FORM_PIECES,
    .burst_shots = 3U,
    .cycle_max_s = 2.0,
    .buffer_frames = 1U,
    .tail = VW_TAIL_OVERLAP,
    .valley_db = 9.0,
    .level = vw_level_defaults(),
    .lamp_track = {.tone_hz = 3000.0, .level_dbfs = -6.0},
    .seed = 1U};
}

static bool
within(double value, double least, double most) {
  return value >= least && value <= most;
}

static bool
format_is_sound(const VwFormat* format) {
  return (!format->rate_hz || within(format->rate_hz, 4000.0, 384000.0)) &&
         within(format->n_channels, 1.0, 2.0) &&
         format->encoding <= VW_ENCODING_FLOAT &&
         format->dither <= VW_DITHER_NONE;
}

static bool
board_is_sound(const VwFamilyOptions* options) {
  return within(options->gap_ms, 0.0, 1000.0) &&
         within(options->buffer_frames, 1.0, 65536.0) &&
         (options->run_in_max_s == 0.0 ||
          within(options->run_in_max_s, 0.05, 60.0));
}

static bool
level_is_sound(const VwLevelOptions* level) {
  return level->aim <= VW_AIM_GAIN && level->loud_as <= VW_LOUD_AS_BURST &&
         within(level->loudness_lufs, -60.0, 0.0) &&
         within(level->gain_db, -60.0, 60.0) &&
         within(level->ceiling_dbtp, -20.0, 0.0) &&
         within(level->limiting_max_db, 0.0, 12.0) &&
         (level->speaker_hz == 0.0 || within(level->speaker_hz, 50.0, 2000.0));
}

static bool
lamp_is_sound(const VwFamilyOptions* options) {
  return (options->lamp_on_ms == 0.0 ||
          within(options->lamp_on_ms, 5.0, 500.0)) &&
         within(options->lamp_track.tone_hz, 2000.0, 4000.0) &&
         within(options->lamp_track.level_dbfs, -20.0, 0.0);
}

bool
vw_options_are_sound(const VwFamilyOptions* options, size_t n_takes) {
  const double rate = options->fire_rate_per_s;
  return n_takes >= 1U && n_takes <= 64U && format_is_sound(&options->format) &&
         options->form <= VW_FORM_BURST && options->tail <= VW_TAIL_CHOKE &&
         within(options->burst_shots, 1.0, 1000.0) &&
         (rate == 0.0 || within(rate, 0.5, 40.0)) && options->shots <= 64U &&
         options->shots % n_takes == 0U &&
         within(options->cycle_max_s, 0.05, 60.0) &&
         (isnan(options->valley_db) || within(options->valley_db, 3.0, 40.0)) &&
         within(options->detune_cents, 0.0, 100.0) &&
         within(options->level_spread_db, 0.0, 6.0) &&
         board_is_sound(options) && lamp_is_sound(options) &&
         level_is_sound(&options->level);
}
