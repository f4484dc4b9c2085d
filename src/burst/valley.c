#include "base/units.h"
#include "burst/burst.h"
#include "burst/internal.h"
#include "container/container.h"
#include "signal/signal.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>

// The level is read at every frame, or no oftener than this.
#define READS_PER_S 48000.0

// Noise that is so far below the quiet fills it by less than 0.02 dB.
#define NOISE_NEAR_DB 25.0

// The high-pass has forgotten its start to -100 dB after so much time.
#define SETTLE_S 0.100

/// Add one channel's squares behind the high-pass, settled on the cycle.
static void
add_channel(const VwSound* cycle,
            unsigned       channel,
            size_t         n_lead,
            double*        power) {
  VwBiquad sections[VW_HIGH_PASS_SECTIONS];
  vw_high_pass_4th(sections, VW_LEVEL_CORNER_HZ, cycle->rate_hz);
  const size_t n_settle = vw_frames_of_s(SETTLE_S, cycle->rate_hz);
  const size_t n_turns = (n_settle + n_lead) / cycle->n_frames + 1U;
  const size_t n_out = cycle->n_frames + 2U * n_lead;
  size_t       at = n_turns * cycle->n_frames - n_lead - n_settle;
  at %= cycle->n_frames;
  for (size_t i = 0; i < n_settle + n_out; ++i) {
    const double x = (double)cycle->values[at * cycle->n_channels + channel];
    const double y = vw_high_pass_step(sections, x);
    if (i >= n_settle) {
      power[i - n_settle] += y * y / (double)cycle->n_channels;
    }
    at = at + 1U == cycle->n_frames ? 0U : at + 1U;
  }
}

/// Levels of a stretch, the highest of them, and the lowest after that.
typedef struct {
  double* levels;
  size_t  n;
  size_t  crest_frame;
  size_t  quiet_frame;
  double  crest;
  double  quiet;
} Reading;

/// Read the level about each frame of a cycle in [from, to), in even steps.
static void
read_levels(const VwHann* hann,
            size_t        n_lead,
            const size_t  ends[2],
            Reading*      reading) {
  const size_t step = reading->n;
  reading->n = 0;
  reading->crest = -1.0;
  reading->quiet = HUGE_VAL;
  for (size_t i = ends[0]; i < ends[1]; i += step) {
    const double level = vw_hann_mean(hann, i + n_lead);
    reading->levels[reading->n++] = level;
    if (level > reading->crest) {
      reading->crest = level;
      reading->crest_frame = i;
      reading->quiet = HUGE_VAL;
    }
    if (level < reading->quiet) {
      reading->quiet = level;
      reading->quiet_frame = i;
    }
  }
}

/// The shallowest valley of the shots.
static VwValley
shallowest(const VwHann* hann,
           const VwPlan* plan,
           size_t        n_lead,
           double*       room) {
  const double step_wanted = (double)plan->rate_hz / READS_PER_S;
  const size_t step = step_wanted > 1.0 ? (size_t)step_wanted : 1U;
  VwValley     valley = {.depth_db = HUGE_VAL};
  for (unsigned shot = 0; shot < plan->shots; ++shot) {
    const size_t ends[2] = {vw_plan_start(plan, shot),
                            vw_plan_start(plan, shot + 1U)};
    Reading      reading = {.levels = room, .n = step};
    read_levels(hann, n_lead, ends, &reading);
    const double depth_db = vw_valley_of_levels(room, reading.n);
    if (depth_db < valley.depth_db) {
      const double crest_db =
        reading.crest > 0.0 ? vw_db_of_power(reading.crest) : (double)NAN;
      valley = (VwValley){depth_db,
                          shot,
                          reading.crest_frame,
                          reading.quiet_frame,
                          crest_db,
                          crest_db - depth_db};
    }
  }
  valley.depth_db = fmin(valley.depth_db, VW_VALLEY_DEEPEST_DB);
  return valley;
}

/// The level about every frame of a cycle.
typedef struct {
  VwHann  hann;
  size_t  n_lead; ///< Frames of the cycle's end before its first.
  double* power;
  double* room; ///< Behind the powers, for the levels of one cycle.
} Levels;

static void
levels_clear(Levels* levels) {
  vw_hann_clear(&levels->hann);
  free(levels->power);
}

static VwStatus
levels_init(Levels* levels, const VwSound* cycle) {
  const size_t n_window = vw_frames_of_s(VW_LEVEL_WINDOW_S, cycle->rate_hz);
  const size_t n_out = cycle->n_frames + 2U * n_window;
  Levels       out = {.n_lead = n_window};
  out.power = calloc(n_out + cycle->n_frames + 1U, sizeof(double));
  if (!out.power) {
    return VW_NO_MEMORY;
  }
  for (unsigned c = 0; c < cycle->n_channels; ++c) {
    add_channel(cycle, c, n_window, out.power);
  }
  out.room = out.power + n_out;
  const VwStatus st = vw_hann_init(&out.hann, out.power, n_out, n_window);
  if (st) {
    levels_clear(&out);
    return st;
  }
  *levels = out;
  return VW_OK;
}

static VwStatus
measure(const VwSound* cycle, const VwPlan* plan, VwValley* valley) {
  Levels         levels = {0};
  const VwStatus st = levels_init(&levels, cycle);
  if (!st) {
    *valley = shallowest(&levels.hann, plan, levels.n_lead, levels.room);
    levels_clear(&levels);
  }
  return st;
}

VwStatus
vw_valley_measure(const VwSound* cycle, const VwPlan* plan, double* valley_db) {
  VwValley       valley = {0};
  const VwStatus st = measure(cycle, plan, &valley);
  if (!st) {
    *valley_db = valley.depth_db;
  }
  return st;
}

VwStatus
vw_valley_of_loop(const VwSound* loop, const VwPlan* plan, VwValley* valley) {
  assert(loop && plan && valley);
  VwSound cycle = {0};
  if (loop->n_frames + plan->gap_frames != plan->n_frames) {
    return VW_BAD_OPTION;
  }
  VwStatus st = vw_sound_part(loop, 0U, plan->n_frames, &cycle);
  st = st ? st : measure(&cycle, plan, valley);
  vw_sound_clear(&cycle);
  return st;
}

VwStatus
vw_valley_of_steady(const VwVolley* volley,
                    const VwSteady* of,
                    VwValley*       valley) {
  const VwPlan* const plan = volley->plan;
  VwSound             cycle = {0};
  VwStatus st = vw_sound_part(of->burst, of->steady, plan->n_frames, &cycle);
  if (!st && volley->closed) {
    vw_burst_close_cycle(&cycle, plan->gap_frames);
  }
  st = st ? st : measure(&cycle, plan, valley);
  vw_sound_clear(&cycle);
  return st;
}

/// What is heard of a loop, read back from its file.
static VwStatus
read_back(const VwFamily* family,
          const VwPiece*  loop,
          uint64_t        seed,
          VwSound*        heard) {
  const VwWrapping wrapping = {
    .container = VW_CONTAINER_RAW, .format = family->format, .seed = seed};
  VwBytes  bytes = {0};
  VwSound  written = {0};
  VwStatus st = vw_encode(loop, &wrapping, &bytes);
  st = st ? st : vw_decode(&bytes, &wrapping, &written);
  st = st ? st : vw_sound_heard(&written, family->lamp_track.pulses, heard);
  vw_sound_clear(&written);
  vw_bytes_clear(&bytes);
  return st;
}

VwStatus
vw_valley_written(const VwFamily* family, uint64_t seed, VwValley* valley) {
  const double noise_dbfs = vw_encoding_noise_dbfs(family->format.encoding);
  const bool   near = valley->quiet_dbfs < noise_dbfs + NOISE_NEAR_DB;
  VwStatus     st = VW_OK;
  for (size_t i = 0; !st && near && i < family->n_pieces; ++i) {
    VwPiece loop = family->pieces[i]; // a view
    VwSound heard = {0};
    if (loop.part != VW_PART_LOOP) {
      continue;
    }
    loop.sound.n_frames = loop.has_loop ? loop.loop_end : loop.sound.n_frames;
    st = read_back(family, &loop, seed, &heard);
    VwSound cycle = heard; // a view
    if (!st && loop.has_loop) {
      cycle.values += loop.loop_start * heard.n_channels;
      cycle.n_frames -= loop.loop_start;
    }
    st = st ? st : vw_valley_of_loop(&cycle, &family->plan, valley);
    vw_sound_clear(&heard);
  }
  return st;
}

static VwStatus
gap_depth(const VwSound* cycle, const VwPlan* plan, double* depth_db) {
  const size_t   gap = vw_plan_file_frames(plan);
  Levels         levels = {0};
  const VwStatus st = levels_init(&levels, cycle);
  double         crest = 0.0;
  if (st) {
    return st;
  }
  for (size_t i = vw_plan_start(plan, plan->shots - 1U); i < gap; ++i) {
    crest = fmax(crest, vw_hann_mean(&levels.hann, i + levels.n_lead));
  }
  const double left = vw_hann_mean(&levels.hann, gap + levels.n_lead);
  const bool   audible = left > crest * vw_power_of_db(-VW_VALLEY_DEEPEST_DB);
  *depth_db =
    audible ? fmax(vw_db_of_power(crest / left), 0.0) : VW_VALLEY_DEEPEST_DB;
  levels_clear(&levels);
  return VW_OK;
}

VwStatus
vw_valley_gap_depth(const VwVolley* volley, double* depth_db) {
  const VwSound* const first = volley->shots;
  VwVolley             open = *volley;
  VwSound              cycle = {0};
  VwStatus             st = vw_sound_init(
    &cycle, volley->plan->n_frames, first->n_channels, first->rate_hz);
  open.closed = false;
  st = st ? st : vw_burst_fold(&open, &cycle);
  st = st ? st : gap_depth(&cycle, volley->plan, depth_db);
  vw_sound_clear(&cycle);
  return st;
}
