#include "base/units.h"
#include "card/loop.h"
#include "signal/signal.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

// What is cut may bare something else: it is judged again so many times.
#define ROUNDS 8U

// A seam is led over within the longest of these, on either side: the shortest
// that will do.
static const double lead_s[] = {0.002, 0.005, 0.010, 0.020};

#define COUNT(array) (sizeof(array) / sizeof((array)[0]))

// It is led over if what is left is so far below the bound.
#define SMOOTH_SHARE 0.9

// The start of the loop is continued backwards from so many frames of it, by so
// many weights (chosen here).
#define LEARN_FRAMES 4096U
#define ORDER 64U

/// A sound, and the loop in it.
typedef struct {
  VwSound* whole;
  VwSound  loop; ///< A view.
} Mend;

static void
look(Mend* mend, const VwLoopFacts* facts) {
  mend->loop = *mend->whole;
  mend->loop.values += facts->start * mend->whole->n_channels;
  mend->loop.n_frames = facts->n_frames;
}

/* Cuts */

/// Cut frames [from, from + n) out of a sound.
static void
cut(VwSound* sound, size_t from, size_t n) {
  const size_t channels = sound->n_channels;
  memmove(sound->values + from * channels,
          sound->values + (from + n) * channels,
          (sound->n_frames - from - n) * channels * sizeof(float));
  sound->n_frames -= n;
}

/// Cut a flaw's frames off the loop's ends. False if too little would be left.
static bool
cut_ends(Mend* mend, const VwFlaw* flaw, VwLoopFacts* facts) {
  const size_t n = flaw->front + flaw->back;
  if (n >= facts->n_frames || !n ||
      vw_loop_is_short(facts->n_frames - n, mend->loop.rate_hz)) {
    return false;
  }
  cut(mend->whole, facts->start + facts->n_frames - flaw->back, flaw->back);
  cut(mend->whole, facts->start, flaw->front);
  facts->n_frames -= n;
  look(mend, facts);
  return true;
}

/// Divide what is cut off between both ends so that the loudest stretch is
/// left: silence at either goes first.
static void
divide(const VwSound* loop, VwFlaw* flaw) {
  const size_t n = flaw->front + flaw->back;
  double       change = 0.0;
  double       least = 0.0;
  flaw->front = 0;
  for (size_t i = 0; i < n; ++i) {
    change += vw_sound_power_at(loop, i) -
              vw_sound_power_at(loop, loop->n_frames - n + i);
    if (change < least) {
      least = change;
      flaw->front = i + 1U;
    }
  }
  flaw->back = n - flaw->front;
}

/* Constant */

/// Take each channel's constant from it, in whole steps of the codes.
static bool
take_constant(Mend* mend, double step) {
  VwSound* const whole = mend->whole;
  bool           any = false;
  for (unsigned c = 0; c < whole->n_channels; ++c) {
    const double constant = vw_sound_constant(&mend->loop, c);
    const float  off =
      (float)(step > 0.0 ? step * floor(constant / step + 0.5) : constant);
    any = any || off < 0.0F || off > 0.0F;
    for (size_t i = 0; i < whole->n_frames; ++i) {
      whole->values[i * whole->n_channels + c] -= off;
    }
  }
  return any;
}

/* Seam */

/// Continue a channel of the loop backwards from its start.
///
/// @param before Set to `n` values, the last of which comes before the start.
static bool
continue_back(const VwSound* loop, unsigned channel, size_t n, double* before) {
  const size_t n_learn =
    loop->n_frames < LEARN_FRAMES ? loop->n_frames : LEARN_FRAMES;
  const size_t  order = n_learn > 2U * ORDER ? ORDER : n_learn / 4U;
  double        weights[VW_PREDICT_MOST];
  double* const x = malloc((n + n_learn) * sizeof(double));
  if (!x) {
    return false;
  }
  for (size_t i = 0; i < n_learn; ++i) {
    x[n + i] = (double)loop->values[i * loop->n_channels + channel];
  }
  const bool good = vw_predict_fit(x + n, n_learn, order, weights);
  for (size_t i = n; good && i-- > 0;) {
    x[i] = 0.0;
    for (size_t k = 0; k < order; ++k) {
      x[i] += weights[k] * x[i + 1U + k];
    }
  }
  memcpy(before, x, n * sizeof(double));
  free(x);
  return good;
}

/// Lead the last `n` frames of the loop over to what would come before its
/// first; what follows the loop in the file is led back by as much, so that it
/// still goes on from its last frame as it did.
static bool
lead_over(Mend* mend, size_t n) {
  const VwSound* const loop = &mend->loop;
  const size_t         channels = loop->n_channels;
  const size_t         at = loop->n_frames - n;
  float* const         end = loop->values + loop->n_frames * channels;
  const size_t         n_behind =
    mend->whole->n_frames - (size_t)(end - mend->whole->values) / channels;
  double* const before = malloc(n * sizeof(double));
  bool          good = before != NULL;
  for (unsigned c = 0; good && c < channels; ++c) {
    double moved = 0.0;
    good = continue_back(loop, c, n, before);
    for (size_t i = 0; good && i < n; ++i) {
      float* const value = &loop->values[(at + i) * channels + c];
      moved = (1.0 - vw_fade_out_at(i + 1U, n)) * (before[i] - (double)*value);
      *value = (float)((double)*value + moved);
    }
    for (size_t i = 0; good && i < n && i < n_behind; ++i) {
      end[i * channels + c] += (float)(vw_fade_out_at(i + 1U, n) * moved);
    }
  }
  free(before);
  return good;
}

/// Fade the ends of the loop from and to zero, within 2 ms.
static void
fade_ends(const VwSound* loop) {
  VwSound      faded = *loop;
  const size_t n = vw_frames_of_s(lead_s[0], loop->rate_hz);
  for (size_t i = 0; i < n; ++i) {
    const double gain = 1.0 - vw_fade_out_at(i, n);
    vw_sound_scale_frame(&faded, i, gain);
    vw_sound_scale_frame(&faded, loop->n_frames - 1U - i, gain);
  }
}

/// Hold what is written to the codes it is written in.
static void
round_near_seam(Mend* mend, size_t n, double step) {
  const VwSound* const loop = &mend->loop;
  const size_t         first = loop->n_frames - n;
  const size_t         channels = loop->n_channels;
  float* const         values = loop->values + first * channels;
  const float* const   end =
    mend->whole->values + mend->whole->n_frames * channels;
  for (float* at = values;
       step > 0.0 && at < end && at < values + 2U * n * channels;
       ++at) {
    *at = (float)(step * floor((double)*at / step + 0.5));
  }
}

/// The seam is good, and there is some room to its bound.
static VwStatus
is_smooth(const VwSound* loop, bool* smooth) {
  VwSeam         seam = {0};
  const VwStatus st = vw_seam_measure(loop, &seam);
  *smooth = fmax(fmax(seam.step, seam.slope), seam.residual) <
            SMOOTH_SHARE * VW_SEAM_MOST;
  return st;
}

/// Try to lead over within ever more frames, and at last fade the ends.
static VwStatus
mend_seam(Mend* mend, double step, VwMending* mending) {
  VwSound  kept = {0};
  bool     smooth = false;
  VwStatus st = vw_sound_copy(mend->whole, &kept);
  for (size_t i = 0; !st && !smooth && i <= COUNT(lead_s); ++i) {
    const bool   last = i == COUNT(lead_s);
    const size_t most = mend->loop.n_frames / 2U;
    size_t       n = vw_frames_of_s(lead_s[last ? 0U : i], mend->loop.rate_hz);
    n = n < most ? n : most;
    memcpy(mend->whole->values,
           kept.values,
           kept.n_frames * kept.n_channels * sizeof(float));
    if (last) {
      fade_ends(&mend->loop);
    } else if (!lead_over(mend, n)) {
      st = VW_NO_MEMORY;
    }
    round_near_seam(mend, n, step);
    mending->seam_frames = n;
    st = st ? st : is_smooth(&mend->loop, &smooth);
  }
  vw_sound_clear(&kept);
  return st;
}

/* All together */

/// Mend the first flaw that can be; false if there is none.
static VwStatus
mend_one(Mend*        mend,
         double       step,
         VwLoopFacts* facts,
         VwMending*   mending,
         bool*        any) {
  VwStatus st = VW_OK;
  *any = false;
  for (int kind = 0; !st && !*any && kind < VW_N_FLAWS; ++kind) {
    VwFlaw* const flaw = &facts->flaws[kind];
    VwFlaw* const done = &mending->done[kind];
    if (!flaw->there) {
      continue;
    }
    if (kind == VW_FLAW_OFFSET) {
      *any = take_constant(mend, step);
    } else if (kind == VW_FLAW_SEAM) {
      *any = true;
      st = mend_seam(mend, step, mending);
    } else {
      if (kind == VW_FLAW_CYCLE) {
        divide(&mend->loop, flaw);
      }
      *any = cut_ends(mend, flaw, facts);
    }
    if (*any) {
      done->there = true;
      done->size = flaw->size;
      done->front += flaw->front;
      done->back += flaw->back;
    }
  }
  return st;
}

VwStatus
vw_loop_mend(VwSound*           whole,
             const VwLoopAsked* asked,
             double             step,
             VwLoopFacts*       facts,
             VwMending*         mending) {
  Mend      mend = {.whole = whole};
  VwMending made = {0};
  bool      any = true;
  VwStatus  st = VW_OK;
  for (size_t i = 0; !st && any && i < ROUNDS; ++i) {
    look(&mend, facts);
    st = mend_one(&mend, step, facts, &made, &any);
    if (!st && any) {
      look(&mend, facts);
      st = vw_loop_judge(&mend.loop, asked, facts);
    }
  }
  if (!st) {
    *mending = made;
  }
  return st;
}
