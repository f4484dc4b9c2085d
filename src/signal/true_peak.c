#include "base/units.h"
#include "signal/signal.h"

#include <math.h>

#define TIMES 8
#define HALF (TIMES / 2)
#define TAPS (2 * VW_PEAK_LOBES)

// Frames looked over at once for one that is worth looking about.
#define STRIDE 64U

/// Values side by side, for which the processor has one instruction if it has
/// such: a compiler does not see of itself that all are summed at once.
typedef float Places __attribute__((vector_size(HALF * sizeof(float))));

/// Weights of the values about a gap, for the places in it. What weighs a value
/// at one place weighs its mirror image at the mirrored place: sums and
/// differences of such two values do for both. Places go from the left to the
/// middle.
typedef struct {
  Places sums[VW_PEAK_LOBES];
  Places differences[VW_PEAK_LOBES];
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

/// A search for peaks.
typedef struct {
  const VwSound* sound;
  const Kernel*  kernel;
  float          least; ///< Only what exceeds it is looked about.
  float*         peaks; ///< Of each frame, or NULL.
} Search;

static Kernel
kernel_make(void) {
  Kernel kernel;
  for (int tap = 0; tap < VW_PEAK_LOBES; ++tap) {
    for (int i = 0; i < HALF; ++i) {
      const double left = (double)(i + 1) / TIMES;
      const double at = (double)(tap - VW_PEAK_LOBES + 1);
      const double one = windowed_sinc(left - at) / 2.0;
      const double mirrored = windowed_sinc(1.0 - left - at) / 2.0;
      kernel.sums[tap][i] = (float)(one + mirrored);
      kernel.differences[tap][i] = (float)(one - mirrored);
    }
  }
  return kernel;
}

/// fmaxf(), but for NaN: quicker, and there are none.
static float
higher(float a, float b) {
  return a > b ? a : b;
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
  float left;
  float right;
} Gap;

static Gap
look_into(const Kernel* kernel, const float* about) {
  Places even = {0.0F};
  Places odd = {0.0F};
  for (int tap = 0; tap < VW_PEAK_LOBES; ++tap) {
    const float one = about[tap];
    const float other = about[TAPS - 1 - tap];
    even += kernel->sums[tap] * (float)(one + other);
    odd += kernel->differences[tap] * (float)(one - other);
  }
  Gap gap = {fabsf(about[VW_PEAK_LOBES - 1]), 0.0F};
  for (int i = 0; i < HALF; ++i) {
    gap.left = higher(gap.left, fabsf(even[i] + odd[i]));
    gap.right = higher(gap.right, fabsf(even[i] - odd[i]));
  }
  return gap;
}

static float
value_at(const VwSound* sound, unsigned channel, size_t frame) {
  return frame < sound->n_frames
           ? fabsf(sound->values[frame * sound->n_channels + channel])
           : 0.0F;
}

/// Note the highest values of the gap before `frame`. What rings out of the
/// sound counts for its first or last frame.
static void
raise(float* peaks, size_t n_frames, size_t frame, const Gap* gap) {
  const size_t left = frame > 0U ? frame - 1U : 0U;
  const size_t right = frame < n_frames ? frame : n_frames - 1U;
  peaks[left] = higher(gap->left, peaks[left]);
  peaks[right] = higher(gap->right, peaks[right]);
}

/// Look into the gaps before the frames [from, to), where they are worth it.
static float
find_in_gaps(const Search* search, unsigned channel, size_t from, size_t to) {
  const VwSound* const sound = search->sound;
  float                highest = 0.0F;
  float before = from > 0U ? value_at(sound, channel, from - 1U) : 0.0F;
  float room[TAPS];
  for (size_t i = from; i < to; ++i) {
    const float here = value_at(sound, channel, i);
    if (before > search->least || here > search->least) {
      Gap gap = look_into(search->kernel, gather(sound, channel, i, room));
      gap.right = higher(gap.right, here);
      highest = higher(highest, higher(gap.left, gap.right));
      if (search->peaks) {
        raise(search->peaks, sound->n_frames, i, &gap);
      }
    }
    before = here;
  }
  return highest;
}

/// Look over a stretch, and closely where one of its frames is worth it.
static float
find_in_stretch(const Search* search, size_t from, size_t to) {
  const VwSound* const sound = search->sound;
  VwSound              stretch = *sound; // a view
  stretch.values += from * sound->n_channels;
  stretch.n_frames = to - from;
  float highest = (float)vw_sound_peak(&stretch);
  if (highest <= search->least) {
    return highest;
  }
  for (unsigned c = 0; c < sound->n_channels; ++c) {
    highest = higher(highest, find_in_gaps(search, c, from, to + 1U));
  }
  return highest;
}

/// Look over all, stretch by stretch; `*at` is set to the highest one's start.
static float
find_in_all(const Search* search, size_t* at) {
  const size_t n_frames = search->sound->n_frames;
  float        highest = 0.0F;
  for (size_t from = 0; from < n_frames; from += STRIDE) {
    const size_t left = n_frames - from;
    const float  here =
      find_in_stretch(search, from, from + (left < STRIDE ? left : STRIDE));
    *at = here > highest ? from : *at;
    highest = higher(highest, here);
  }
  return highest;
}

double
vw_peak_find(const VwSound* sound, double least, float* peaks) {
  const Kernel kernel = kernel_make();
  const Search search = {sound, &kernel, (float)least, peaks};
  size_t       at = 0;
  return (double)find_in_all(&search, &at);
}

double
vw_peak_dbtp_at(const VwSound* sound, size_t* frame) {
  const double sample_peak = vw_sound_peak(sound);
  const Kernel kernel = kernel_make();
  const Search search = {sound, &kernel, (float)sample_peak / 2.0F, NULL};
  size_t       at = 0;
  if (!(sample_peak > 0.0)) {
    return NAN;
  }
  const float highest = find_in_all(&search, &at);
  while (at + 1U < sound->n_frames &&
         find_in_stretch(&search, at, at + 1U) < highest) {
    ++at;
  }
  *frame = at;
  return 20.0 * log10((double)highest);
}

double
vw_peak_dbtp(const VwSound* sound) {
  size_t frame = 0;
  return vw_peak_dbtp_at(sound, &frame);
}
