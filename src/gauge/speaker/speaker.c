// What a speaker is like, and what is to be done about it.

#include "gauge/speaker/speaker.h"
#include "base/ranges.h"
#include "base/units.h"
#include "gauge/speaker/fit.h"

#include <math.h>
#include <stdlib.h>

// A speaker reaches as far as it is within 10 dB of its loudest octave; dips
// narrower than a ninth of an octave do not count (IEC 60268-5, by a secondary
// source).
#define RANGE_DB 10.0
#define DIP_POINTS 3U // of 24 in an octave: an eighth

// A high-pass lies at 0.8 to 1.0 of the corner (common practice).
#define CORNER_SHARE 0.9

// No cut is made for less (chosen here); rounded, so that nobody takes it for
// more exact than it is.
#define CUT_LEAST_DB 3.0
#define CUT_STEP_DB 0.5

// What misses the response by more is in doubt (chosen here: what is right
// misses it by 0.12 dB with noise 40 dB down, what is wrong by 0.32 dB or
// more).
#define MISS_DB 0.3

// A corner below this is none that the sweep shows.
#define CORNER_LEAST_HZ 95.0

#define BEST_NEAR_DB 3.0

/* The mean of several */

/// The mean power of a point in all recordings that have it, each at the same
/// level.
static VwResponse
mean_at(const VwSweepHeard* heard, size_t n_heard, size_t at) {
  double power = 0.0;
  double share = 0.0;
  double n = 0.0;
  double n_shares = 0.0;
  double hz = 0.0;
  for (size_t i = 0; i < n_heard; ++i) {
    const VwResponse* const one = &heard[i].fine[at];
    if (at >= heard[i].n_fine) {
      continue;
    }
    hz = one->hz;
    if (!isnan(one->db)) {
      power += vw_power_of_db(one->db - heard[i].level_db);
      n += 1.0;
    }
    if (!isnan(one->share)) {
      share += one->share * one->share;
      n_shares += 1.0;
    }
  }
  return (VwResponse){.hz = hz,
                      .db = n > 0.0 ? vw_db_of_power(power / n) : (double)NAN,
                      .share =
                        n_shares > 0.0 ? sqrt(share / n_shares) : (double)NAN};
}

/// Mean power of the points about one, a sixth of an octave in all.
static double
smoothed(const VwResponse* fine, size_t n, size_t at) {
  const size_t half = VW_RESPONSE_FINE / VW_RESPONSE_COARSE / 2U;
  double       power = 0.0;
  double       weights = 0.0;
  for (size_t i = at < half ? 0U : at - half; i <= at + half && i < n; ++i) {
    const double weight = i + half == at || i == at + half ? 0.5 : 1.0;
    if (!isnan(fine[i].db)) {
      power += weight * vw_power_of_db(fine[i].db);
      weights += weight;
    }
  }
  return weights > 0.0 ? vw_db_of_power(power / weights) : (double)NAN;
}

static void
coarsen(VwSpeakerGauged* gauged) {
  const size_t each = VW_RESPONSE_FINE / VW_RESPONSE_COARSE;
  for (size_t i = each / 2U; i < gauged->n_fine; i += each) {
    VwResponse* const at = &gauged->coarse[gauged->n_coarse++];
    *at = gauged->fine[i];
    at->db = smoothed(gauged->fine, gauged->n_fine, i);
  }
}

/// By how much two recordings differ most, a sixth of an octave at a time.
static void
differ(const VwSweepHeard* heard, size_t n_heard, VwSpeakerGauged* gauged) {
  gauged->unlike_db = n_heard > 1U ? 0.0 : (double)NAN;
  gauged->unlike_hz = (double)NAN;
  for (size_t k = 0; n_heard > 1U && k < gauged->n_fine; ++k) {
    double low = INFINITY;
    double high = -INFINITY;
    for (size_t i = 0; i < n_heard; ++i) {
      const double db =
        smoothed(heard[i].fine, heard[i].n_fine, k) - heard[i].level_db;
      low = fmin(low, db);
      high = fmax(high, db);
    }
    if (high - low > gauged->unlike_db) {
      gauged->unlike_db = high - low;
      gauged->unlike_hz = gauged->fine[k].hz;
    }
  }
}

/* The range */

/// Power of the loudest octave, and its first point.
static double
loudest_octave(const VwSpeakerGauged* gauged, size_t* at) {
  double most = 0.0;
  for (size_t i = 0; i + VW_RESPONSE_FINE < gauged->n_fine; ++i) {
    double power = 0.0;
    for (size_t k = i; k <= i + VW_RESPONSE_FINE; ++k) {
      const bool   end = k == i || k == i + VW_RESPONSE_FINE;
      const double db = gauged->fine[k].db;
      power += isnan(db) ? 0.0 : (end ? 0.5 : 1.0) * vw_power_of_db(db);
    }
    if (power > most) {
      most = power;
      *at = i;
    }
  }
  return most / VW_RESPONSE_FINE;
}

/// How far a response stays above a level, point by point; NaN: to its end.
static double
reach(const VwSpeakerGauged* gauged, size_t from, bool up, double least_db) {
  size_t below = 0;
  size_t last = from;
  for (size_t i = from; i < gauged->n_fine && below < DIP_POINTS;
       i = up ? i + 1U : i - 1U) {
    const bool loud = gauged->fine[i].db >= least_db;
    below = loud ? 0U : below + 1U;
    last = loud ? i : last;
  }
  const size_t next = up ? last + 1U : last - 1U;
  if (next >= gauged->n_fine) {
    return (double)NAN;
  }
  const VwResponse* const in = &gauged->fine[last];
  const VwResponse* const out = &gauged->fine[next];
  const double            part =
    isnan(out->db) ? 0.0 : (in->db - least_db) / (in->db - out->db);
  return in->hz * pow(out->hz / in->hz, part);
}

static void
find_range(VwSpeakerGauged* gauged) {
  size_t       at = 0;
  const double least_db =
    vw_db_of_power(loudest_octave(gauged, &at)) - RANGE_DB;
  const size_t middle = at + VW_RESPONSE_FINE / 2U;
  gauged->low_hz = reach(gauged, middle, false, least_db);
  gauged->high_hz = reach(gauged, middle, true, least_db);
}

/* Harmonics */

static void
find_harmonics(VwSpeakerGauged* gauged) {
  const double from_hz = isnan(gauged->corner_hz) ? 0.0 : gauged->corner_hz;
  double       sum = 0.0;
  double       n = 0.0;
  gauged->share_most = -1.0;
  for (size_t i = 0; i < gauged->n_coarse; ++i) {
    const VwResponse* const at = &gauged->coarse[i];
    if (at->hz >= from_hz && !isnan(at->share)) {
      sum += at->share * at->share;
      n += 1.0;
      if (at->share > gauged->share_most) {
        gauged->share_most = at->share;
        gauged->share_hz = at->hz;
      }
    }
  }
  gauged->share = n > 0.0 ? sqrt(sum / n) : (double)NAN;
  gauged->share_most = n > 0.0 ? gauged->share_most : (double)NAN;
}

/* What is to be done */

/// The strongest resonance that is not cut yet; NULL: none that is worth it.
static const VwResonance*
strongest(const VwSpeakerGauged* gauged, const bool* cut) {
  const VwResonance* best = NULL;
  for (size_t i = 0; i < gauged->n_resonances; ++i) {
    const VwResonance* const at = &gauged->resonances[i];
    if (!cut[i] && at->db >= CUT_LEAST_DB &&
        at->hz > gauged->proposed.corner_hz && (!best || at->db > best->db)) {
      best = at;
    }
  }
  return best;
}

/// The cut that takes the poles of a resonance away.
static VwPeakCut
cut_of(const VwResonance* at) {
  const VwRange range = VW_RANGE_CUT_DB;
  const VwRange qs = VW_RANGE_CUT_Q;
  const double  db =
    fmax(-CUT_STEP_DB * floor(at->db / CUT_STEP_DB + 0.5), range.least);
  const double q = at->q * vw_gain_of_db((at->db + db) / 2.0);
  return (VwPeakCut){.hz = floor(at->hz + 0.5),
                     .db = db,
                     .q = floor(10.0 * fmin(fmax(q, qs.least), qs.most) + 0.5) /
                          10.0};
}

static void
propose(VwSpeakerGauged* gauged, bool transducer) {
  const VwRange range = VW_RANGE_SPEAKER_HZ;
  const double  corner_hz =
    isnan(gauged->corner_hz) ? CORNER_LEAST_HZ : gauged->corner_hz;
  const double share = transducer ? exp2(-VW_TRANSDUCER_OCTAVES) : CORNER_SHARE;
  VwSpeaker* const proposed = &gauged->proposed;
  bool             cut[VW_RESONANCES_MOST] = {false};
  proposed->corner_hz =
    floor(fmin(fmax(share * corner_hz, range.least), range.most) + 0.5);
  if (transducer && gauged->corner_hz >= range.least &&
      gauged->corner_hz <= range.most) {
    proposed->resonance_hz = floor(gauged->corner_hz + 0.5);
  }
  for (unsigned i = 0; i < VW_CUTS_MOST; ++i) {
    const VwResonance* const at = strongest(gauged, cut);
    if (!at) {
      break;
    }
    cut[at - gauged->resonances] = true;
    proposed->cuts[proposed->n_cuts++] = cut_of(at);
  }
  for (size_t i = 0; i < gauged->n_fine; ++i) {
    gauged->after_db[i] =
      gauged->fine[i].db +
      vw_speaker_db(proposed, gauged->fine[i].hz, VW_SAMPLE_RATE_USUAL_HZ);
  }
}

VwStatus
vw_speaker_gauge(const VwSweepHeard* heard,
                 size_t              n_heard,
                 bool                transducer,
                 VwSpeakerGauged*    gauged) {
  VwSpeakerGauged out = {0};
  VwFit           fit = {0};
  for (size_t i = 0; i < n_heard; ++i) {
    out.n_fine = heard[i].n_fine > out.n_fine ? heard[i].n_fine : out.n_fine;
    out.doubts |= heard[i].doubts;
  }
  for (size_t i = 0; i < out.n_fine; ++i) {
    out.fine[i] = mean_at(heard, n_heard, i);
  }
  const VwStatus st = vw_fit_find(out.fine, out.n_fine, &fit);
  if (st) {
    return st;
  }
  out.corner_hz = fit.corner_hz < CORNER_LEAST_HZ ? (double)NAN : fit.corner_hz;
  out.slope_db = 20.0 * fit.order * log10(2.0);
  out.miss_db = fit.miss_db;
  out.doubts |= fit.miss_db > MISS_DB ? VW_DOUBT_FIT : 0U;
  out.n_resonances = fit.n_resonances;
  for (size_t i = 0; i < fit.n_resonances; ++i) {
    out.resonances[i] = fit.resonances[i];
  }
  coarsen(&out);
  differ(heard, n_heard, &out);
  find_range(&out);
  find_harmonics(&out);
  propose(&out, transducer);
  *gauged = out;
  return VW_OK;
}

/* How tightly to pack */

/// How far the strongest resonance stands out, dB.
static double
rings(const VwSpeakerGauged* gauged) {
  double most = 0.0;
  for (size_t i = 0; i < gauged->n_resonances; ++i) {
    most = fmax(most, gauged->resonances[i].db);
  }
  return most;
}

size_t
vw_transducer_best(const VwSweepHeard*    heard,
                   const VwSpeakerGauged* gauged,
                   size_t                 n) {
  size_t loudest = 0;
  for (size_t i = 1; i < n; ++i) {
    loudest = heard[i].level_db > heard[loudest].level_db ? i : loudest;
  }
  size_t best = loudest;
  for (size_t i = 0; i < n; ++i) {
    const bool near =
      heard[i].level_db >= heard[loudest].level_db - BEST_NEAR_DB;
    if (near && rings(&gauged[i]) <= rings(&gauged[loudest]) - BEST_NEAR_DB &&
        (best == loudest || heard[i].level_db > heard[best].level_db)) {
      best = i;
    }
  }
  return best;
}
