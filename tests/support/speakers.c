#include "support/speakers.h"

#include <math.h>
#include <stdlib.h>

// The sweep's height: -12 dB of full scale.
#define HEIGHT 0.251189

#define PI 3.14159265358979323846
#define LEAD_S 0.5
#define TAPS 24

double
speakers_random(unsigned* seed) {
  *seed = *seed * 1664525U + 1013904223U;
  return (double)(*seed >> 8U) / 16777216.0;
}

/// A section: numerator, denominator, state.
typedef struct {
  double b[3];
  double a[3];
  double x[2];
  double y[2];
} Section;

static double
step(Section* of, double x) {
  const double y = (of->b[0] * x + of->b[1] * of->x[0] + of->b[2] * of->x[1] -
                    of->a[1] * of->y[0] - of->a[2] * of->y[1]) /
                   of->a[0];
  of->x[1] = of->x[0];
  of->x[0] = x;
  of->y[1] = of->y[0];
  of->y[0] = y;
  return y;
}

/// The section of an analogue one in powers of s, from 1 up, whose frequency is
/// 1: by the bilinear transform.
static Section
section_of(const double above[3], const double below[3], double hz, double fs) {
  const double        k = 1.0 / tan(PI * hz / fs);
  Section             of = {.x = {0.0, 0.0}};
  const double* const sides[] = {above, below};
  double* const       out[] = {of.b, of.a};
  for (int i = 0; i < 2; ++i) {
    const double* const c = sides[i];
    out[i][0] = c[0] + c[1] * k + c[2] * k * k;
    out[i][1] = 2.0 * c[0] - 2.0 * c[2] * k * k;
    out[i][2] = c[0] - c[1] * k + c[2] * k * k;
  }
  return of;
}

/// All sections of a speaker. Returns how many.
static int
sections_of(const Speaker* speaker, double fs, Section* of) {
  int n = 0;
  if (speaker->corner_hz > 0.0 && speaker->order == 3U) {
    of[n++] = section_of((double[]){0.0, 1.0, 0.0},
                         (double[]){1.0, 1.0, 0.0},
                         speaker->corner_hz,
                         fs);
  }
  for (unsigned i = 0; speaker->corner_hz > 0.0 && i < speaker->order / 2U;
       ++i) {
    // Twice the cosine of the angle of a pair of poles.
    const double damping = speaker->order == 2U ? sqrt(2.0)
                           : speaker->order == 3U
                             ? 1.0
                             : 2.0 * cos((i ? 3 : 1) * PI / 8.0);
    of[n++] = section_of((double[]){0.0, 0.0, 1.0},
                         (double[]){1.0, damping, 1.0},
                         speaker->corner_hz,
                         fs);
  }
  for (unsigned i = 0; i < speaker->n_peaks; ++i) {
    const SpeakerPeak* const peak = &speaker->peaks[i];
    const double             a = pow(10.0, peak->db / 40.0);
    of[n++] = section_of((double[]){1.0, a / peak->q, 1.0},
                         (double[]){1.0, 1.0 / (a * peak->q), 1.0},
                         peak->hz,
                         fs);
  }
  if (speaker->coil_hz > 0.0) {
    of[n++] = section_of((double[]){1.0, 0.0, 0.0},
                         (double[]){1.0, 1.0, 0.0},
                         speaker->coil_hz,
                         fs);
  }
  return n;
}

double
speakers_db(const Speaker* speaker, double hz) {
  Section   of[8];
  const int n = sections_of(speaker, 48000.0, of);
  double    db = 0.0;
  for (int i = 0; i < n; ++i) {
    double power[2];
    for (int side = 0; side < 2; ++side) {
      const double* const c = side ? of[i].a : of[i].b;
      const double        w = 2.0 * PI * hz / 48000.0;
      const double        re = c[0] + c[1] * cos(w) + c[2] * cos(2.0 * w);
      const double        im = c[1] * sin(w) + c[2] * sin(2.0 * w);
      power[side] = re * re + im * im;
    }
    db += 10.0 * log10(power[0] / power[1]);
  }
  return db;
}

double
speakers_share(const Speaker* speaker, double hz) {
  const double first =
    (1.0 + 3.0 * speaker->third) * pow(10.0, speakers_db(speaker, hz) / 20.0);
  const double second =
    speaker->second * pow(10.0, speakers_db(speaker, 2.0 * hz) / 20.0);
  const double third =
    speaker->third * pow(10.0, speakers_db(speaker, 3.0 * hz) / 20.0);
  return sqrt(second * second + third * third) / first;
}

/// A sound between its frames.
static double
at(const VwSound* sound, double frame) {
  const double first = floor(frame);
  double       sum = 0.0;
  for (int k = 1 - TAPS; k <= TAPS; ++k) {
    const double i = first + k;
    const double off = frame - i;
    if (i >= 0.0 && i < (double)sound->n_frames) {
      const double sinc = off == 0.0 ? 1.0 : sin(PI * off) / (PI * off);
      sum += sound->values[(size_t)i] * sinc *
             (0.5 + 0.5 * cos(PI * off / (TAPS + 1.0)));
    }
  }
  return sum;
}

VwSound
speakers_recorded(const Speaker* speaker, const VwSound* sound) {
  const double fs = sound->rate_hz;
  const size_t lead = (size_t)(LEAD_S * fs);
  const size_t n = 2U * lead + sound->n_frames + sound->n_frames / 5000U;
  Section      of[8];
  const int    n_sections = sections_of(speaker, fs, of);
  VwSound      heard = {0};
  if (vw_sound_init(&heard, n, 1U, sound->rate_hz)) {
    abort();
  }
  double power = 0.0;
  for (size_t i = lead; i < n; ++i) {
    const double from = (double)(i - lead) / (1.0 + 1e-6 * speaker->ppm);
    double       x = speaker->ppm == 0.0
                       ? (i - lead < sound->n_frames ? sound->values[i - lead] : 0.0)
                       : at(sound, from);
    x += 2.0 * speaker->second / HEIGHT * x * x +
         4.0 * speaker->third / (HEIGHT * HEIGHT) * x * x * x;
    for (int k = 0; k < n_sections; ++k) {
      x = step(&of[k], x);
    }
    heard.values[i] = (float)x;
    power += x * x;
  }
  const size_t echo = (size_t)(speaker->echo_s * fs);
  for (size_t i = n; echo && i-- > echo;) {
    heard.values[i] +=
      (float)pow(10.0, speaker->echo_db / 20.0) * heard.values[i - echo];
  }
  const double rms = sqrt(power / (double)sound->n_frames);
  const double noise =
    speaker->noise_db != 0.0 ? rms * pow(10.0, -speaker->noise_db / 20.0) : 0.0;
  unsigned seed = speaker->seed;
  for (size_t i = 0; i < n; ++i) {
    // A triangle of that power.
    const double x =
      (speakers_random(&seed) - speakers_random(&seed)) * sqrt(6.0) * noise +
      heard.values[i];
    const double y = x * (speaker->gain > 0.0 ? speaker->gain : 1.0);
    heard.values[i] =
      (float)(speaker->clip > 0.0 ? fmax(fmin(y, speaker->clip), -speaker->clip)
                                  : y);
  }
  return heard;
}
