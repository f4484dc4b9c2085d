#include "base/units.h"
#include "signal/signal.h"

#include <math.h>

// If the means of stretches so long spread more than this, half as much is no
// constant but follows the sound. Set on the same loops: of one recording, low
// and lopsided, they spread by 0.17 and more, and the mean is up to 0.044; of
// all others by up to 0.15.
#define STRETCH_S 0.01
#define FOLLOWS_LEAST 0.16
#define FOLLOWS_SHARE 0.5

// Such a sound may tell all the same: faded at its seam, it comes to rest there
// at its constant, from frame to frame within three steps of 16 bits. What is
// more than three times the 1 % looked for is no rest but a crest (chosen
// here).
#define REST_STEP_MOST 1e-4
#define REST_MOST 0.03

/// Where a channel comes to rest at the seam; 0 if it does not.
static double
rest_of(const VwSound* loop, unsigned channel) {
  const size_t last = (loop->n_frames - 1U) * loop->n_channels;
  const double end = (double)loop->values[last + channel];
  const double start = (double)loop->values[channel];
  return fabs(end - start) <= REST_STEP_MOST && fabs(end) <= REST_MOST ? end
                                                                       : 0.0;
}

double
vw_sound_constant(const VwSound* loop, unsigned channel) {
  const size_t n = vw_frames_of_s(STRETCH_S, loop->rate_hz);
  double       sum = 0.0;
  double       squares = 0.0;
  double       stretch = 0.0;
  double       n_stretches = 0.0;
  for (size_t i = 0; i < loop->n_frames; ++i) {
    stretch += (double)loop->values[i * loop->n_channels + channel];
    if ((i + 1U) % n == 0U || i + 1U == loop->n_frames) {
      const double n_here = (double)(i % n + 1U);
      squares += stretch * stretch / n_here;
      n_stretches += n_here;
      sum += stretch;
      stretch = 0.0;
    }
  }
  const double mean = sum / n_stretches;
  const double spread = sqrt(fmax(squares / n_stretches - mean * mean, 0.0));
  return spread <= FOLLOWS_LEAST || fabs(mean) >= FOLLOWS_SHARE * spread
           ? mean
           : rest_of(loop, channel);
}
