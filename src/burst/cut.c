
#include "base/size.h"
#include "base/units.h"
#include "burst/burst.h"
#include "burst/internal.h"
#include "signal/signal.h"
#include "take/take.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

// Cycles that differ by no more than this are the same: a few missing tails
// cannot sum up to 1e-6.
#define SAME 4e-7

// Below this sample rate room is short; codes of 8 and 16 bits then hide more.
#define COARSE_BELOW_HZ 22050U
#define SAME_COARSE 1e-5

#define EXACT_DB (-200.0)

// Where bytes are short a run-in may end with so much missing of the tails: a
// rise of the loop by 0.04 dB for tails that are unlike it, 0.8 dB at most.
#define LEFT_MOST_DB (-20.0)

// What is missing then comes in no faster than a choked tail goes.
#define BLEND_S 0.005

double
vw_cut_same(VwEncoding encoding, unsigned rate_hz) {
  const bool coarse = encoding == VW_ENCODING_U8 || encoding == VW_ENCODING_S16;
  return coarse && rate_hz < COARSE_BELOW_HZ ? SAME_COARSE : SAME;
}

/// One past the last frame that differs from the steady cycle by more than
/// `same`.
static size_t
last_difference(const VwSteady* of, size_t n_cycle, double same) {
  const VwSound* const burst = of->burst;
  const size_t         n_channels = burst->n_channels;
  // Going back from the steady cycle a whole number of cycles at a time.
  for (size_t frame = of->steady; frame-- > 0U;) {
    const size_t back = of->steady - 1U - frame;
    const size_t twin = of->steady + n_cycle - 1U - back % n_cycle;
    for (size_t c = 0; c < n_channels; ++c) {
      const double difference = (double)burst->values[frame * n_channels + c] -
                                (double)burst->values[twin * n_channels + c];
      if (fabs(difference) > same) {
        return frame + 1U;
      }
    }
  }
  return 0;
}

double
vw_cut_residual_db(const VwSound* burst,
                   size_t         from,
                   size_t         to,
                   size_t         n_cycle) {
  const size_t n_values = n_cycle * burst->n_channels;
  const float* a = burst->values + from * burst->n_channels;
  const float* b = burst->values + to * burst->n_channels;
  double       energy = 0.0;
  double       residual = 0.0;
  for (size_t i = 0; i < n_values; ++i) {
    const double difference = (double)a[i] - (double)b[i];
    energy += (double)b[i] * (double)b[i];
    residual += difference * difference;
  }
  return residual > 0.0 ? fmax(vw_db_of_power(residual / energy), EXACT_DB)
                        : EXACT_DB;
}

/// The next number of shots after which the burst may be cut.
static unsigned
next_cut(const VwVolley* volley, unsigned shots, size_t unit) {
  const VwPlan* const plan = volley->plan;
  // A closed cycle was measured from its first shot on; nothing that is written
  // lies before it, and a gap is no multiple of anything.
  if (volley->closed) {
    return shots + plan->shots;
  }
  do {
    ++shots;
  } while (vw_plan_start(plan, shots) % unit);
  return shots;
}

/// End the run-in before the burst is steady, where that is allowed.
static void
end_early(const VwVolley*        volley,
          const VwFamilyOptions* options,
          const VwSteady*        of,
          VwCutPoint*            point) {
  const VwPlan* const plan = volley->plan;
  const size_t        unit = vw_size_loop_unit(options);
  const size_t        room = vw_size_loop_most(options);
  const size_t   wish = vw_frames_of_s(options->run_in_max_s, plan->rate_hz);
  const size_t   latest = wish < room ? wish : room;
  const unsigned steady = point->steady_shots;
  unsigned       shots = next_cut(volley, 0, unit);
  double         left_db = 0.0;
  while (shots < steady) {
    const unsigned later = (steady - shots + plan->shots - 1U) / plan->shots;
    const size_t   from = vw_plan_start(plan, shots);
    left_db = vw_cut_residual_db(
      of->burst, from, from + later * plan->n_frames, plan->n_frames);
    const unsigned next = next_cut(volley, shots, unit);
    if (left_db <= LEFT_MOST_DB || vw_plan_start(plan, next) > latest) {
      point->run_in_shots = shots;
      point->steady_shots = shots + later * plan->shots;
      point->run_in_left_db = -left_db;
      return;
    }
    shots = next;
  }
}

VwCutPoint
vw_cut_find(const VwVolley*        volley,
            const VwFamilyOptions* options,
            const VwSteady*        of) {
  const VwPlan* const plan = volley->plan;
  const size_t        unit = vw_size_loop_unit(options);
  const double same = vw_cut_same(options->format.encoding, plan->rate_hz);
  const size_t from = last_difference(of, plan->n_frames, same);
  unsigned     shots = next_cut(volley, 0, unit);
  while (vw_plan_start(plan, shots) < from) {
    shots = next_cut(volley, shots, unit);
  }
  const size_t start = vw_plan_start(plan, shots);
  VwCutPoint   point = {shots, shots, NAN, 0.0};
  point.join_residual_db = vw_cut_residual_db(
    of->burst, start + plan->n_frames, start, plan->n_frames);
  if (options->run_in_max_s > 0.0 && !volley->closed) {
    end_early(volley, options, of, &point);
  }
  return point;
}

/// Lay down a burst and hold it under the ceiling as one signal.
static VwStatus
fire(const VwVolley* volley,
     size_t          n_shots,
     VwSound*        burst,
     VwLimited*      limited) {
  VwStatus st = vw_burst_lay(volley, n_shots, burst);
  if (!st) {
    st = vw_limiter_run(volley->ceiling, burst, limited);
    if (st) {
      vw_sound_clear(burst);
    }
  }
  return st;
}

/// The burst of run-in and one loop, and where the loop lies in it.
typedef struct {
  VwSound   burst;
  VwLimited limited;
  size_t    loop_start;
  size_t    loop_end;
} Source;

/// Leave out the frames [to, loop_start): what goes before them runs into the
/// loop as what it leaves out would have.
static void
leave_out(Source* source, size_t to) {
  VwSound* const burst = &source->burst;
  const size_t   n_channels = burst->n_channels;
  const size_t   n_out = source->loop_start - to;
  const size_t   n_blend = vw_frames_of_s(BLEND_S, burst->rate_hz);
  for (size_t i = 0; i < n_blend; ++i) {
    const double old = vw_fade_out_at(i, n_blend);
    float* const at = burst->values + (to - n_blend + i) * n_channels;
    for (size_t c = 0; c < n_channels; ++c) {
      at[c] = (float)(old * (double)at[c] +
                      (1.0 - old) * (double)at[n_out * n_channels + c]);
    }
  }
  burst->n_frames -= n_out;
  memmove(burst->values + to * n_channels,
          burst->values + source->loop_start * n_channels,
          (burst->n_frames - to) * n_channels * sizeof(float));
  source->loop_start -= n_out;
  source->loop_end -= n_out;
}

static VwStatus
source_make(const VwVolley* volley, const VwCutPoint* point, Source* source) {
  const VwPlan* const plan = volley->plan;
  const size_t        run_in_end = vw_plan_start(plan, point->run_in_shots);
  source->loop_start = vw_plan_start(plan, point->steady_shots);
  source->loop_end = source->loop_start + plan->n_frames;
  const VwStatus st = fire(volley,
                           point->steady_shots + plan->shots,
                           &source->burst,
                           &source->limited);
  if (!st && run_in_end < source->loop_start) {
    leave_out(source, run_in_end);
  }
  return st;
}

/// Cut [from, to) of the source into a piece; `to` past its end means zeros.
static VwStatus
cut_piece(const Source* source,
          VwPart        part,
          size_t        from,
          size_t        to,
          VwPiece*      piece) {
  *piece = (VwPiece){.part = part};
  return vw_sound_part(&source->burst, from, to - from, &piece->sound);
}

/// End of the ring-out: a multiple of `unit` after the loop, and never empty.
static size_t
ring_out_end(const Source* source, size_t unit) {
  const size_t least = vw_shot_pre_roll(source->burst.rate_hz);
  const size_t tail = source->burst.n_frames > source->loop_end
                        ? source->burst.n_frames - source->loop_end
                        : 0U;
  const size_t n = tail < least ? least : tail;
  return source->loop_end + (n + unit - 1U) / unit * unit;
}

static VwStatus
cut_three(const Source* source, size_t unit, VwPiece pieces[3]) {
  static const VwPart parts[] = {
    VW_PART_RUN_IN, VW_PART_LOOP, VW_PART_RING_OUT};
  const size_t ends[] = {
    0U, source->loop_start, source->loop_end, ring_out_end(source, unit)};
  VwStatus st = VW_OK;
  for (size_t i = 0; !st && i < 3U; ++i) {
    st = cut_piece(source, parts[i], ends[i], ends[i + 1U], &pieces[i]);
  }
  return st;
}

static VwStatus
cut_whole_file(const Source* source, const VwPlan* plan, VwPiece* piece) {
  const size_t   end = source->loop_start + vw_plan_file_frames(plan);
  const VwStatus st =
    cut_piece(source, VW_PART_LOOP, source->loop_start, end, piece);
  if (!st) {
    vw_burst_close_cycle(&piece->sound, 0U);
  }
  return st;
}

static VwStatus
cut_loop_points(const Source* source, size_t unit, VwPiece* piece) {
  const VwStatus st =
    cut_piece(source, VW_PART_LOOP, 0, ring_out_end(source, unit), piece);
  piece->has_loop = true;
  piece->loop_start = source->loop_start;
  piece->loop_end = source->loop_end;
  return st;
}

static VwStatus
cut_burst(const VwVolley* volley, size_t n_shots, size_t unit, VwCut* cut) {
  cut->pieces[0] = (VwPiece){.part = VW_PART_BURST};
  VwSound* const sound = &cut->pieces[0].sound;
  const VwStatus st = fire(volley, n_shots, sound, &cut->limited);
  return st ? st : vw_sound_pad(sound, unit, 0);
}

static VwStatus
cut_form(const VwVolley*        volley,
         const Source*          source,
         const VwFamilyOptions* options,
         VwCut*                 cut) {
  const VwFormat format = {.n_channels = source->burst.n_channels,
                           .encoding = options->format.encoding};
  const size_t   unit = vw_size_unit(&format);
  cut->limited = source->limited;
  switch (options->form) {
    case VW_FORM_WHOLE_FILE:
      return cut_whole_file(source, volley->plan, cut->pieces);
    case VW_FORM_LOOP_POINTS:
      return cut_loop_points(source, unit, cut->pieces);
    case VW_FORM_BURST:
      return cut_burst(volley, options->burst_shots, unit, cut);
    case VW_FORM_PIECES:
      break;
  }
  return cut_three(source, unit, cut->pieces);
}

/// The true peak of what is heard: the burst whole, its seams run through.
static double
peak_of(const Source* source, const VwCut* cut) {
  const VwSound* const sound = cut->pieces[0].part == VW_PART_BURST
                                 ? &cut->pieces[0].sound
                                 : &source->burst;
  return vw_peak_find(sound, vw_sound_peak(sound) / 2.0, NULL);
}

VwStatus
vw_cut_pieces(const VwVolley*        volley,
              const VwCutPoint*      point,
              const VwFamilyOptions* options,
              VwCut*                 cut) {
  Source   source = {0};
  VwCut    out = {0};
  VwStatus st = source_make(volley, point, &source);
  st = st ? st : cut_form(volley, &source, options, &out);
  out.peak = st ? 0.0 : peak_of(&source, &out);
  vw_sound_clear(&source.burst);
  for (; out.n_pieces < 3U && out.pieces[out.n_pieces].sound.values;
       ++out.n_pieces) {
    if (st) {
      vw_sound_clear(&out.pieces[out.n_pieces].sound);
    }
  }
  if (!st) {
    *cut = out;
  }
  return st;
}
