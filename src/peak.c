#include "peak.h"

#include "sound.h"
#include "units.h"

#include <math.h>

#define TIMES 8
#define TAPS (2 * VW_PEAK_LOBES)

/// Weights of the values about a gap, for the places in it: the frame on its
/// left, then seven between. Places stand side by side, so that all are summed
/// at once.
typedef struct {
  float weights[TAPS][TIMES];
} Kernel;

/// Hann-windowed sinc `x` frames from its middle.
static double
windowed_sinc(double x) {
  const double angle = VW_PI * x;
  const double window = 0.5 + 0.5 * cos(angle / VW_PEAK_LOBES);
  if (fabs(x) >= VW_PEAK_LOBES) {
    return 0.0;
  }
  return fabs(x) > 0.0 ? window * sin(angle) / angle : 1.0;
}

static Kernel
kernel_make(void) {
  Kernel kernel;
  for (int tap = 0; tap < TAPS; ++tap) {
    for (int place = 0; place < TIMES; ++place) {
      const double x =
        (double)place / TIMES - (double)(tap - VW_PEAK_LOBES + 1);
      kernel.weights[tap][place] = (float)windowed_sinc(x);
    }
  }
  return kernel;
}

/// The values about the gap before `frame`, zeros outside the sound. They are
/// copied to `room` where they do not lie side by side.
static const float*
gather(const VwSound* sound, unsigned channel, size_t frame, float* room) {
  // The first tap lies 24 frames before the gap's right frame.
  const size_t first = frame - VW_PEAK_LOBES;
  const bool   inside =
    frame >= VW_PEAK_LOBES && frame + VW_PEAK_LOBES <= sound->n_frames;
  if (inside && sound->n_channels == 1U) {
    return sound->values + first;
  }
  for (size_t tap = 0; tap < TAPS; ++tap) {
    const size_t at = first + tap;
    const bool   there = frame + tap >= VW_PEAK_LOBES && at < sound->n_frames;
    room[tap] = there ? sound->values[at * sound->n_channels + channel] : 0.0F;
  }
  return room;
}

/// The highest values of a gap: in its left half and in its right half.
typedef struct {
  double left;
  double right;
} Gap;

static Gap
look_into(const Kernel* kernel, const float* about) {
  float sums[TIMES] = {0.0F};
  for (int tap = 0; tap < TAPS; ++tap) {
    for (int place = 0; place < TIMES; ++place) {
      sums[place] += kernel->weights[tap][place] * about[tap];
    }
  }
  Gap gap = {0.0, 0.0};
  for (int place = 0; place < TIMES; ++place) {
    const double value = fabs((double)sums[place]);
    if (place <= TIMES / 2 && value > gap.left) {
      gap.left = value;
    }
    if (place >= TIMES / 2 && value > gap.right) {
      gap.right = value;
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

/// Note the highest values of the gap before `frame`. What rings out of the
/// sound counts for its first or last frame.
static void
raise(double* peaks, size_t n_frames, size_t frame, const Gap* gap) {
  const size_t left = frame > 0U ? frame - 1U : 0U;
  const size_t right = frame < n_frames ? frame : n_frames - 1U;
  peaks[left] = gap->left > peaks[left] ? gap->left : peaks[left];
  peaks[right] = gap->right > peaks[right] ? gap->right : peaks[right];
}

static double
find_in_channel(const VwSound* sound,
                const Kernel*  kernel,
                unsigned       channel,
                double         least,
                double*        peaks) {
  const size_t n_frames = sound->n_frames;
  double       highest = 0.0;
  double       before = 0.0;
  float        room[TAPS];
  for (size_t i = 0; n_frames && i <= n_frames; ++i) {
    const double here = value_at(sound, channel, i);
    Gap          gap = {before, here};
    if (before > least || here > least) {
      gap = look_into(kernel, gather(sound, channel, i, room));
      gap.right = fmax(gap.right, here);
    }
    highest = fmax(highest, fmax(gap.left, gap.right));
    if (peaks) {
      raise(peaks, n_frames, i, &gap);
    }
    before = here;
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
