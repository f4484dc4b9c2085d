#include "peak.h"

#include "sound.h"
#include "units.h"

#include <math.h>

#define TIMES 8
#define TAPS (2 * VW_PEAK_LOBES)

/// Weights of the values about a place between two frames.
typedef struct {
  double weights[TIMES - 1][TAPS];
} Kernel;

/// Hann-windowed sinc `x` frames from its middle.
static double
windowed_sinc(double x) {
  const double angle = VW_PI * x;
  const double window = 0.5 + 0.5 * cos(angle / VW_PEAK_LOBES);
  return fabs(x) < VW_PEAK_LOBES ? window * sin(angle) / angle : 0.0;
}

static Kernel
kernel_make(void) {
  Kernel kernel;
  for (int phase = 0; phase < TIMES - 1; ++phase) {
    const double place = (double)(phase + 1) / TIMES;
    for (int tap = 0; tap < TAPS; ++tap) {
      kernel.weights[phase][tap] =
        windowed_sinc(place - (double)(tap - VW_PEAK_LOBES + 1));
    }
  }
  return kernel;
}

/// Copy the values about the gap after `frame`, zeros outside the sound.
static void
gather(const VwSound* sound, unsigned channel, size_t frame, double* about) {
  for (int tap = 0; tap < TAPS; ++tap) {
    const size_t at = frame + (size_t)tap;
    // The first tap lies 23 frames before the gap's left frame.
    const bool there =
      at + 1U >= VW_PEAK_LOBES && at + 1U - VW_PEAK_LOBES < sound->n_frames;
    about[tap] =
      there
        ? (double)sound
            ->values[(at + 1U - VW_PEAK_LOBES) * sound->n_channels + channel]
        : 0.0;
  }
}

/// The highest values of a gap: in its left half and in its right half.
typedef struct {
  double left;
  double right;
} Gap;

static Gap
look_into(const Kernel* kernel, const double* about) {
  Gap gap = {0.0, 0.0};
  for (int phase = 0; phase < TIMES - 1; ++phase) {
    double value = 0.0;
    for (int tap = 0; tap < TAPS; ++tap) {
      value += kernel->weights[phase][tap] * about[tap];
    }
    value = fabs(value);
    if (phase < TIMES / 2) {
      gap.left = fmax(gap.left, value);
    }
    if (phase + 2 > TIMES / 2) {
      gap.right = fmax(gap.right, value);
    }
  }
  return gap;
}

static double
value_at(const VwSound* sound, unsigned channel, size_t frame) {
  return frame < sound->n_frames
           ? fabs((double)sound->values[frame * sound->n_channels + channel])
           : 0.0;
}

static void
raise(double* peaks, size_t frame, double value) {
  if (peaks) {
    peaks[frame] = fmax(peaks[frame], value);
  }
}

static double
find_in_channel(const VwSound* sound,
                const Kernel*  kernel,
                unsigned       channel,
                double         least,
                double*        peaks) {
  double highest = 0.0;
  double about[TAPS];
  for (size_t i = 0; i < sound->n_frames; ++i) {
    const double here = value_at(sound, channel, i);
    const double next = value_at(sound, channel, i + 1U);
    highest = fmax(highest, here);
    raise(peaks, i, here);
    if (here <= least && next <= least) {
      continue;
    }
    gather(sound, channel, i, about);
    const Gap gap = look_into(kernel, about);
    highest = fmax(highest, fmax(gap.left, gap.right));
    raise(peaks, i, gap.left);
    if (i + 1U < sound->n_frames) {
      raise(peaks, i + 1U, gap.right);
    }
  }
  return highest;
}

double
vw_peak_find(const VwSound* sound, double least, double* peaks) {
  const Kernel kernel = kernel_make();
  double       highest = 0.0;
  for (size_t i = 0; peaks && i < sound->n_frames; ++i) {
    peaks[i] = 0.0;
  }
  for (unsigned c = 0; c < sound->n_channels; ++c) {
    highest = fmax(highest, find_in_channel(sound, &kernel, c, least, peaks));
  }
  return highest;
}

double
vw_peak_dbtp(const VwSound* sound) {
  const double sample_peak = vw_sound_peak(sound);
  return sample_peak > 0.0
           ? 20.0 * log10(vw_peak_find(sound, sample_peak / 2.0, NULL))
           : NAN;
}
