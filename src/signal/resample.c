#include "signal/signal.h"

#include <soxr.h>

#include <math.h>
#include <string.h>

#define PAD_S 0.020

#define BLOCK_FRAMES 16384U

static unsigned
greatest_divisor(unsigned a, unsigned b) {
  while (b) {
    const unsigned rest = a % b;
    a = b;
    b = rest;
  }
  return a;
}

/// Frames of padding that are whole at both rates: so many at `in_hz`.
static size_t
pad_frames(unsigned in_hz, unsigned out_hz) {
  const size_t unit = in_hz / greatest_divisor(in_hz, out_hz);
  const size_t wanted = (size_t)(PAD_S * in_hz) + 1U;
  return (wanted + unit - 1U) / unit * unit;
}

/// Convert block by block: the library's queues grow by what they are given at
/// once.
static soxr_error_t
feed(soxr_t soxr, const VwSound* padded, VwSound* converted) {
  const unsigned n_channels = padded->n_channels;
  soxr_error_t   error = NULL;
  size_t         n_read = 0;
  size_t         n_written = 0;
  bool           more = true;
  while (!error && more) {
    const size_t left = padded->n_frames - n_read;
    const float* block = left ? padded->values + n_read * n_channels : NULL;
    size_t       n_in = 0;
    size_t       n_out = 0;
    error = soxr_process(soxr,
                         block,
                         left < BLOCK_FRAMES ? left : BLOCK_FRAMES,
                         &n_in,
                         converted->values + n_written * n_channels,
                         converted->n_frames - n_written,
                         &n_out);
    n_read += n_in;
    n_written += n_out;
    more = block ? n_in > 0U : n_out > 0U;
  }
  return error;
}

static VwStatus
run(const VwSound* padded, unsigned long recipe, VwSound* converted) {
  const soxr_quality_spec_t quality = soxr_quality_spec(recipe, 0);
  const soxr_io_spec_t      io = soxr_io_spec(SOXR_FLOAT32_I, SOXR_FLOAT32_I);
  const soxr_runtime_spec_t runtime = soxr_runtime_spec(1);
  soxr_error_t              error = NULL;
  const soxr_t              soxr = soxr_create(padded->rate_hz,
                                  converted->rate_hz,
                                  padded->n_channels,
                                  &error,
                                  &io,
                                  &quality,
                                  &runtime);
  error = error ? error : feed(soxr, padded, converted);
  soxr_delete(soxr);
  return error ? VW_NO_MEMORY : VW_OK;
}

static VwStatus
convert(const VwSound* sound,
        unsigned       rate_hz,
        unsigned long  recipe,
        VwSound*       out) {
  const double ratio = (double)rate_hz / (double)sound->rate_hz;
  const size_t n_out = (size_t)floor((double)sound->n_frames * ratio + 0.5);
  const size_t n_pad = pad_frames(sound->rate_hz, rate_hz);
  const size_t n_pad_out = (size_t)floor((double)n_pad * ratio + 0.5);
  VwSound      padded = {0};
  VwSound      converted = {0};
  VwStatus     st = vw_sound_init(
    &padded, sound->n_frames + 2U * n_pad, sound->n_channels, sound->rate_hz);
  st =
    st ? st
       : vw_sound_init(
           &converted, n_out + 2U * n_pad_out + 1U, sound->n_channels, rate_hz);
  if (!st) {
    memcpy(padded.values + n_pad * sound->n_channels,
           sound->values,
           sound->n_frames * sound->n_channels * sizeof(float));
    st = run(&padded, recipe, &converted);
  }
  st = st ? st : vw_sound_part(&converted, n_pad_out, n_out, out);
  vw_sound_clear(&padded);
  vw_sound_clear(&converted);
  return st;
}

VwStatus
vw_convert(const VwSound* sound, unsigned rate_hz, VwSound* out) {
  return convert(sound, rate_hz, SOXR_HQ, out);
}

VwStatus
vw_convert_whole_band(const VwSound* sound, unsigned rate_hz, VwSound* out) {
  return convert(sound, rate_hz, SOXR_HQ | SOXR_STEEP_FILTER, out);
}
