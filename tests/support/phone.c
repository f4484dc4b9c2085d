#include "support/phone.h"

#include "support/signals.h"

#include <sndfile.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define PI 3.14159265358979323846

/// One time that the file is played, in true seconds.
typedef struct {
  double start_s;
  double end_s; ///< Where it ends or is cut.
} Played;

#define PLAYED_MOST 1024

/// All that happens.
typedef struct {
  const Phone* phone;
  SignalRandom random;
  double       rate_hz; ///< Of the phone, as it is.
  size_t       n_frames;
  double*      heard; ///< At the phone's frames.
  Played       played[PLAYED_MOST];
  size_t       n_played;
  double       gaps_s;
  PhoneHeard   made;
} Scene;

static double
length_of(const Phone* phone) {
  return (double)phone->file->n_frames / phone->file->rate_hz /
         (1.0 + 1e-6 * phone->board_ppm);
}

/* When the file is played */

/// Play from a press on. Returns when the board listens again.
static double
press(Scene* scene, double at_s, double held_s) {
  const Phone* const phone = scene->phone;
  const double       length_s = length_of(phone);
  const double       release_s = at_s + held_s;
  double             start_s = at_s + phone->delay_ms / 1000.0;
  if (held_s < phone->press_ms / 1000.0 ||
      (!phone->finishes && release_s <= start_s)) {
    return at_s;
  }
  ++scene->made.n_sounding;
  for (;;) {
    const double end_s = start_s + length_s;
    const bool   cut = !phone->finishes && release_s < end_s;
    scene->played[scene->n_played++] =
      (Played){start_s, cut ? release_s : end_s};
    const double gap_s =
      fmax(phone->gap_ms + phone->jitter_ms * signal_normal(&scene->random),
           0.0) /
      1000.0 / (1.0 + 1e-6 * phone->board_ppm);
    if (end_s + gap_s >= release_s) {
      return cut ? release_s : end_s;
    }
    scene->gaps_s += gap_s;
    ++scene->made.n_gaps;
    start_s = end_s + gap_s;
  }
}

static double
press_all(Scene* scene) {
  const Phone* const phone = scene->phone;
  double             at_s = 0.0;
  double             free_s = 0.0;
  for (size_t i = 0; i < phone->n_times; ++i) {
    if (i % 2U && at_s >= free_s) {
      free_s = press(scene, at_s, phone->times_s[i]);
    }
    at_s += phone->times_s[i];
  }
  return at_s;
}

/* How it sounds */

static double
value_of(const Phone* phone, size_t frame) {
  const VwSound* const file = phone->file;
  const float* const   values = file->values + frame * file->n_channels;
  const double         left = values[0];
  const double         right = values[file->n_channels - 1U];
  switch (phone->channels) {
    case PHONE_LEFT:
      return left;
    case PHONE_RIGHT:
      return right;
    case PHONE_STEREO:
      // The phone lies nearer to one speaker.
      return 0.9 * left + 0.5 * right;
    case PHONE_SUM:
    default:
      return 0.5 * (left + right);
  }
}

/// The file between its frames: a sinc under a cosine.
static double
between(const Phone* phone, double at) {
  enum { REACH = 10 };
  const long middle = (long)floor(at);
  double     sum = 0.0;
  for (long i = middle - REACH + 1; i <= middle + REACH; ++i) {
    const double x = at - (double)i;
    if (i >= 0 && i < (long)phone->file->n_frames) {
      const double sinc = fabs(x) < 1e-9 ? 1.0 : sin(PI * x) / (PI * x);
      const double c = cos(0.5 * PI * x / (REACH + 1.0));
      sum += sinc * c * c * value_of(phone, (size_t)i);
    }
  }
  return sum;
}

static void
play(Scene* scene, const Played* played) {
  const Phone* const phone = scene->phone;
  const double file_hz = phone->file->rate_hz * (1.0 + 1e-6 * phone->board_ppm);
  const size_t from = (size_t)ceil(played->start_s * scene->rate_hz);
  for (size_t i = from;
       i < scene->n_frames && (double)i / scene->rate_hz < played->end_s;
       ++i) {
    scene->heard[i] +=
      between(phone, ((double)i / scene->rate_hz - played->start_s) * file_hz);
  }
}

/// A speaker of 600 Hz and above, which bends what is loud.
static void
through_speaker(Scene* scene) {
  const double a = exp(-2.0 * PI * 600.0 / scene->rate_hz);
  double       low = 0.0;
  for (size_t i = 0; i < scene->n_frames; ++i) {
    low = a * low + (1.0 - a) * scene->heard[i];
    scene->heard[i] = tanh(scene->heard[i] - low);
  }
}

static void
click(Scene* scene, double at_s) {
  const double height = scene->phone->click;
  const size_t from = (size_t)ceil(at_s * scene->rate_hz);
  for (size_t i = from; i < scene->n_frames; ++i) {
    const double after_s = (double)(i - from) / scene->rate_hz;
    if (after_s > 0.006) {
      return;
    }
    scene->heard[i] += height * exp(-after_s / 0.0008) *
                       (2.0 * signal_uniform(&scene->random) - 1.0);
  }
}

static void
click_all(Scene* scene) {
  const Phone* const phone = scene->phone;
  double             at_s = 0.0;
  for (size_t i = 0; i + 1U < phone->n_times; ++i) {
    at_s += phone->times_s[i];
    click(scene, at_s);
  }
}

/// Single walls, and behind them a decay by 60 dB in 0.3 s.
static void
through_room(Scene* scene) {
  enum { ECHOES = 60 };
  const double  rate_hz = scene->rate_hz;
  const size_t  n = scene->n_frames;
  double* const dry = calloc(n, sizeof(double));
  memcpy(dry, scene->heard, n * sizeof(double));
  for (int e = 0; e < ECHOES; ++e) {
    const double late_s = e < 3 ? 0.001 + 0.015 * signal_uniform(&scene->random)
                                : 0.3 * signal_uniform(&scene->random);
    const double height =
      scene->phone->echo *
      (e < 3 ? pow(0.6, e) : 0.12 * exp(-6.9 * late_s / 0.3)) *
      (signal_uniform(&scene->random) < 0.5 ? -1.0 : 1.0);
    const size_t late = (size_t)(late_s * rate_hz);
    for (size_t i = late; i < n; ++i) {
      scene->heard[i] += height * dry[i - late];
    }
  }
  free(dry);
}

static void
add_noise(Scene* scene) {
  // A mark has about this RMS.
  const double rms = 0.45 * pow(10.0, scene->phone->noise_db / 20.0);
  double       low = 0.0;
  for (size_t i = 0; i < scene->n_frames; ++i) {
    const double white = signal_normal(&scene->random);
    low = 0.97 * low + 0.2 * white;
    scene->heard[i] += rms * (0.7 * white + 0.7 * low);
  }
}

/* The phone */

/// Gain that falls in 10 ms and comes back in a second, or takes half a second
/// and four; up to 20 dB.
static void
follow_level(Scene* scene) {
  const bool   is_slow = scene->phone->gain == PHONE_SLOW;
  const double falls_s = is_slow ? 0.5 : 0.01;
  const double rises_s = is_slow ? 4.0 : 1.0;
  double       level = 0.05;
  for (size_t i = 0; i < scene->n_frames; ++i) {
    const double height = fabs(scene->heard[i]);
    const double s = height > level ? falls_s : rises_s;
    level += (height - level) / (s * scene->rate_hz);
    scene->heard[i] *= 0.3 / fmax(level, 0.03);
  }
}

/// Take away what is soft, after 100 ms of it.
static void
gate(Scene* scene) {
  double level = 0.0;
  double gain = 1.0;
  for (size_t i = 0; i < scene->n_frames; ++i) {
    level = fmax(fabs(scene->heard[i]), level * (1.0 - 20.0 / scene->rate_hz));
    gain += ((level > 0.06 ? 1.0 : 0.05) - gain) *
            (level > 0.06 ? 500.0 : 20.0) / scene->rate_hz;
    scene->heard[i] *= gain;
  }
}

/// Four low-passes of 3.4 kHz in a row.
static void
narrow(Scene* scene) {
  const double a = exp(-2.0 * PI * 3400.0 / scene->rate_hz);
  double       low[4] = {0};
  for (size_t i = 0; i < scene->n_frames; ++i) {
    double value = scene->heard[i];
    for (int k = 0; k < 4; ++k) {
      low[k] = a * low[k] + (1.0 - a) * value;
      value = low[k];
    }
    scene->heard[i] = value;
  }
}

static void
to_sound(Scene* scene, VwSound* sound) {
  const Phone* const phone = scene->phone;
  double             peak = 1e-9;
  for (size_t i = 0; i < scene->n_frames; ++i) {
    peak = fmax(peak, fabs(scene->heard[i]));
  }
  const double gain = (phone->level > 0.0 ? phone->level : 0.5) / peak;
  *sound = signal_silence(0.0, 22050U);
  vw_sound_clear(sound);
  if (vw_sound_init(
        sound, scene->n_frames, 1U, phone->rate_hz ? phone->rate_hz : 22050U)) {
    abort();
  }
  for (size_t i = 0; i < scene->n_frames; ++i) {
    const double value = fmin(fmax(gain * scene->heard[i], -1.0), 1.0);
    sound->values[i] = (float)(floor(value * 32767.0 + 0.5) / 32768.0);
  }
}

/// Pack it with a loss, and unpack it.
static void
pack(const Phone* phone, VwSound* sound) {
  char    path[64];
  SF_INFO info = {.samplerate = (int)sound->rate_hz, .channels = 1};
  double  quality = phone->packing == PHONE_OGG ? 0.8 : 0.7;
  info.format = phone->packing == PHONE_OGG
                  ? SF_FORMAT_OGG | SF_FORMAT_VORBIS
                  : SF_FORMAT_MPEG | SF_FORMAT_MPEG_LAYER_III;
  (void)snprintf(path, sizeof(path), "/tmp/gauge-%p.pack", (void*)sound);
  SNDFILE* file = sf_open(path, SFM_WRITE, &info);
  if (!file) {
    abort();
  }
  sf_command(file, SFC_SET_COMPRESSION_LEVEL, &quality, sizeof(quality));
  sf_writef_float(file, sound->values, (sf_count_t)sound->n_frames);
  sf_close(file);
  info = (SF_INFO){0};
  file = sf_open(path, SFM_READ, &info);
  VwSound packed;
  if (!file || vw_sound_init(
                 &packed, (size_t)info.frames, 1U, (unsigned)info.samplerate)) {
    abort();
  }
  sf_readf_float(file, packed.values, info.frames);
  sf_close(file);
  remove(path);
  vw_sound_clear(sound);
  *sound = packed;
}

PhoneHeard
phone_record(const Phone* phone) {
  Scene* const scene = calloc(1U, sizeof(Scene));
  const double rate_hz = phone->rate_hz ? phone->rate_hz : 22050.0;
  scene->phone = phone;
  scene->random = signal_random(phone->seed);
  scene->rate_hz = rate_hz * (1.0 + 1e-6 * phone->phone_ppm);
  scene->n_frames = (size_t)(press_all(scene) * rate_hz);
  scene->heard = calloc(scene->n_frames + 1U, sizeof(double));
  for (size_t i = 0; i < scene->n_played; ++i) {
    play(scene, &scene->played[i]);
  }
  through_speaker(scene);
  click_all(scene);
  if (phone->echo > 0.0) {
    through_room(scene);
  }
  if (phone->noise_db < 0.0) {
    add_noise(scene);
  }
  if (phone->gates) {
    gate(scene);
  }
  if (phone->gain != PHONE_STILL) {
    follow_level(scene);
  }
  if (phone->narrow) {
    narrow(scene);
  }
  to_sound(scene, &scene->made.recording);
  if (phone->packing != PHONE_PLAIN) {
    pack(phone, &scene->made.recording);
  }
  const PhoneHeard made = scene->made;
  PhoneHeard       heard = made;
  heard.gap_ms = made.n_gaps ? 1000.0 * scene->gaps_s / (double)made.n_gaps *
                                 (1.0 + 1e-6 * phone->board_ppm)
                             : NAN;
  heard.clock_ppm =
    1e6 *
    ((1.0 + 1e-6 * phone->board_ppm) / (1.0 + 1e-6 * phone->phone_ppm) - 1.0);
  free(scene->heard);
  free(scene);
  return heard;
}

void
phone_write(const char* path, const VwSound* recording) {
  SF_INFO        info = {.samplerate = (int)recording->rate_hz,
                         .channels = (int)recording->n_channels,
                         .format = SF_FORMAT_WAV | SF_FORMAT_PCM_16};
  SNDFILE* const file = sf_open(path, SFM_WRITE, &info);
  if (!file || sf_writef_float(
                 file, recording->values, (sf_count_t)recording->n_frames) !=
                 (sf_count_t)recording->n_frames) {
    abort();
  }
  sf_close(file);
}
