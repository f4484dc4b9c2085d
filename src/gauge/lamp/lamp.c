// A lamp, gauged by a recording of its light.

#include "lamp/lamp.h"
#include "base/units.h"
#include "gauge/lamp/edges.h"
#include "gauge/lamp/hum.h"
#include "gauge/lamp/lamp.h"
#include "take/events.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

// The light jumps within this on both sides of an edge: a phototransistor takes
// 0.1 ms, a solar cell 1 ms (from memory).
#define EDGE_S 0.0007

// A lamp that is dimmed by switching it 500 times a second or more is even over
// so long: it is looked at if no light is found within the other (chosen here).
#define EDGE_DIMMED_S 0.0041

// Values between two edges of one direction stay below the bound for as long;
// a quarter of the period of the fastest lamp is twice that.
#define EDGES_APART_S 0.004

// The height of an edge is the highest of a stretch longer than the period of
// the slowest lamp; most stretches have one. What reaches half of it is an
// edge.
#define STRETCH_S 0.26
#define STRETCH_SHARE 0.7
#define EDGE_SHARE 0.5

// Edges of one direction that lie further apart than so many of the usual
// distances have a pause between them, behind which flashes start anew. The
// longest run counts alone if it has so many. Where no edge is for that part of
// a period, also at an end, it is dark (chosen here).
#define PAUSE_LEAST 1.5
#define RUN_LEAST 5U
#define DARK_LEAST 1.2

// What jumps faster is the switching of a lamp that is dimmed (chosen here).
#define RATE_MOST_HZ 60.0

// On-times of one lamp agree within this, or it is none (chosen here).
#define ON_JITTER_MOST_MS 3.0

// What holds for less may be a sound (chosen here, by sounds of shots that are
// all alike).
#define HOLDS_LEAST_MS 5.0

// Two flashes of the slowest lamp take as long.
#define LIGHT_LEAST_S 0.6

/// How light jumps, value by value: the mean behind each less that before it.
typedef struct {
  double*  jumps; ///< Owned.
  size_t   n;
  size_t   width; ///< Of each mean.
  unsigned rate_hz;
  double   hum_hz;
} Jumps;

/// Both, and the times between them.
typedef struct {
  Edges ups;
  Edges downs;
  Times bright; ///< From up to down.
  Times dark;
  int   upright; ///< Pauses that show a signal to be upright, less those that
                 ///< show it upside down.
  double   hum_hz;
  unsigned rate_hz; ///< Of the edges' frames.
  unsigned channel;
} Light;

static void
light_clear(Light* light) {
  free(light->ups.edges);
  free(light->downs.edges);
  *light = (Light){0};
}

/// Take the jumps of values without their hum. They are put in their place.
static void
jumps_of(double* values, size_t n, size_t width) {
  // Sums first, each up to its value, then differences of sums; from the end
  // on they overwrite nothing that is still to be read.
  for (size_t i = 1; i < n; ++i) {
    values[i] += values[i - 1U];
  }
  for (size_t i = 0; i + 2U * width < n; ++i) {
    values[i] = (values[i + 2U * width] - 2.0 * values[i + width] + values[i]) /
                (double)width;
  }
  memset(values + n - 2U * width, 0, 2U * width * sizeof(*values));
}

static VwStatus
jumps_take(const VwSound* recording,
           unsigned       channel,
           double         edge_s,
           Jumps*         jumps) {
  const size_t width = vw_frames_of_s(edge_s, recording->rate_hz);
  const size_t n = recording->n_frames;
  double*      values = malloc(n * sizeof(*values));
  if (!values) {
    return VW_NO_MEMORY;
  }
  for (size_t i = 0; i < n; ++i) {
    values[i] = (double)recording->values[i * recording->n_channels + channel];
  }
  Jumps    taken = {values, n, width, recording->rate_hz, NAN};
  VwStatus st = vw_hum_remove(values, n, recording->rate_hz, &taken.hum_hz);
  if (st) {
    free(values);
    return st;
  }
  jumps_of(values, n, width);
  *jumps = taken;
  return VW_OK;
}

/// The height of the light's edges.
static VwStatus
height_of(const Jumps* jumps, double* height) {
  const size_t each = vw_frames_of_s(STRETCH_S, jumps->rate_hz);
  const size_t n = jumps->n / each;
  double*      highest = calloc(n, sizeof(*highest));
  if (!highest) {
    return VW_NO_MEMORY;
  }
  for (size_t i = 0; i < n * each; ++i) {
    highest[i / each] = fmax(highest[i / each], fabs(jumps->jumps[i]));
  }
  qsort(highest, n, sizeof(*highest), vw_compare_doubles);
  *height = highest[(size_t)(STRETCH_SHARE * (double)n)];
  free(highest);
  return VW_OK;
}

/// Take an edge. Of two of one direction with none of the other between, the
/// higher one stays.
static VwStatus
edges_take(const Jumps* jumps, size_t frame, Light* light) {
  const bool         up = jumps->jumps[frame] > 0.0;
  Edges* const       same = up ? &light->ups : &light->downs;
  const Edges* const other = up ? &light->downs : &light->ups;
  if (same->n && (!other->n || other->edges[other->n - 1U].start_frame <
                                 same->edges[same->n - 1U].start_frame)) {
    size_t* const before = &same->edges[same->n - 1U].start_frame;
    const bool higher = fabs(jumps->jumps[frame]) > fabs(jumps->jumps[*before]);
    *before = higher ? frame : *before;
    return VW_OK;
  }
  return vw_edges_add(same, frame);
}

/// Put edges where the light jumps: in the middle of what shows a jump.
static void
edges_shift(Edges* edges, size_t width) {
  for (size_t i = 0; i < edges->n; ++i) {
    edges->edges[i].start_frame += width;
  }
}

/// Find the edges: the highest jump of each run of one direction.
static VwStatus
edges_find(const Jumps* jumps, double bound, Light* light) {
  const size_t  apart = vw_frames_of_s(EDGES_APART_S, jumps->rate_hz);
  const double* j = jumps->jumps;
  VwStatus      st = VW_OK;
  for (size_t i = 0; !st && i < jumps->n; ++i) {
    if (fabs(j[i]) < bound) {
      continue;
    }
    const bool up = j[i] > 0.0;
    size_t     best = i;
    size_t     last = i;
    for (; i < jumps->n && i - last < apart; ++i) {
      const double height = up ? j[i] : -j[i];
      if (height < -bound) {
        break;
      }
      last = height >= bound ? i : last;
      best = height > fabs(j[best]) ? i : best;
    }
    i = i < jumps->n && i - last < apart ? i - 1U : last;
    st = edges_take(jumps, best, light);
  }
  return st;
}

/// The usual distance of edges of one direction, frames; 0 of fewer than two.
static VwStatus
usual_distance(const Edges* edges, double* usual) {
  const size_t  n = edges->n ? edges->n - 1U : 0U;
  double* const apart = malloc((n + 1U) * sizeof(*apart));
  if (!apart) {
    return VW_NO_MEMORY;
  }
  for (size_t i = 0; i < n; ++i) {
    apart[i] =
      (double)(edges->edges[i + 1U].start_frame - edges->edges[i].start_frame);
  }
  qsort(apart, n, sizeof(*apart), vw_compare_doubles);
  *usual = n ? apart[n / 2U] : 0.0;
  free(apart);
  return VW_OK;
}

/// See by pauses which direction lights the lamp, since it is dark in them: the
/// edge in front of a pause puts it out, the one behind it lights it. Noise in
/// a pause has edges, too, so all have to agree.
static void
look_at_pauses(Light* light, size_t n_frames, double period) {
  const Edges* const ups = &light->ups;
  const Edges* const downs = &light->downs;
  size_t             up = 0;
  size_t             down = 0;
  double             before = 0.0;
  int                n_told = 0;
  int                lights = 0; // the edge in front: 1 up, -1 down, 0 none
  while (up < ups->n || down < downs->n) {
    const bool is_up =
      down >= downs->n || (up < ups->n && ups->edges[up].start_frame <
                                            downs->edges[down].start_frame);
    const double at = (double)(is_up ? ups->edges[up++].start_frame
                                     : downs->edges[down++].start_frame);
    const int    behind = is_up ? 1 : -1;
    if (at - before > DARK_LEAST * period) {
      light->upright += behind - lights;
      n_told += abs(behind) + abs(lights);
    }
    lights = behind;
    before = at;
  }
  if ((double)n_frames - before > DARK_LEAST * period) {
    light->upright -= lights;
    n_told += abs(lights);
  }
  light->upright = abs(light->upright) == n_told ? light->upright : 0;
}

/// Keep the edges between two frames.
static void
edges_keep(Edges* edges, double from, double to) {
  size_t n = 0;
  for (size_t i = 0; i < edges->n; ++i) {
    const double at = (double)edges->edges[i].start_frame;
    edges->edges[n] = edges->edges[i];
    n += at > from && at < to;
  }
  edges->n = n;
}

/// Keep the longest run of flashes without a pause, if it is long enough.
static void
keep_run(Light* light, double period) {
  const VwEvent* const all = light->ups.edges;
  size_t               first = 0;
  size_t               best = 0;
  size_t               best_n = 0;
  for (size_t i = 0; i < light->ups.n; ++i) {
    const bool starts =
      i && (double)(all[i].start_frame - all[i - 1U].start_frame) >
             PAUSE_LEAST * period;
    first = starts ? i : first;
    if (i - first + 1U > best_n) {
      best = first;
      best_n = i - first + 1U;
    }
  }
  if (best_n >= RUN_LEAST) {
    const double from = (double)all[best].start_frame - period;
    const double to = (double)all[best + best_n - 1U].start_frame + period;
    edges_keep(&light->downs, from, to);
    edges_keep(&light->ups, from, to);
  }
}

/// From each edge on the line to the first of the others behind it, where that
/// one comes within the period.
static VwStatus
widths_of(const Edges* from, const Edges* to, unsigned rate_hz, Times* widths) {
  const double  period_ms = 1e3 / from->line.fire_rate_per_s;
  double* const ms = malloc((from->n + 1U) * sizeof(*ms));
  size_t        n = 0;
  size_t        k = 0;
  if (!ms) {
    return VW_NO_MEMORY;
  }
  for (size_t i = 0; i < from->n; ++i) {
    const size_t start = from->edges[i].start_frame;
    while (k < to->n && to->edges[k].start_frame < start) {
      ++k;
    }
    if (from->edges[i].on_line && k < to->n) {
      ms[n] = 1e3 * (double)(to->edges[k].start_frame - start) / rate_hz;
      n += ms[n] < period_ms;
    }
  }
  *widths = vw_times_of(ms, n);
  free(ms);
  return VW_OK;
}

/// Lay the lines through the edges, and take the times between them.
static VwStatus
light_lines(Light* light) {
  Edges* const   ups = &light->ups;
  Edges* const   downs = &light->downs;
  const unsigned rate_hz = light->rate_hz;
  vw_rapid_find(ups->edges, ups->n, rate_hz, &ups->line);
  vw_rapid_find(downs->edges, downs->n, rate_hz, &downs->line);
  const VwStatus st = widths_of(ups, downs, rate_hz, &light->bright);
  return st ? st : widths_of(downs, ups, rate_hz, &light->dark);
}

static VwStatus
light_of(const VwSound* recording,
         unsigned       channel,
         double         edge_s,
         Light*         light) {
  Jumps  jumps = {0};
  Light  found = {.rate_hz = recording->rate_hz, .channel = channel};
  double height = 0.0;
  double period = 0.0;

  VwStatus st = jumps_take(recording, channel, edge_s, &jumps);
  st = st ? st : height_of(&jumps, &height);
  st = st || height > 0.0 ? st : VW_SILENT;
  st = st ? st : edges_find(&jumps, EDGE_SHARE * height, &found);
  edges_shift(&found.ups, jumps.width);
  edges_shift(&found.downs, jumps.width);
  found.hum_hz = jumps.hum_hz;
  free(jumps.jumps);
  st = st ? st : usual_distance(&found.ups, &period);
  if (!st) {
    look_at_pauses(&found, recording->n_frames, period);
    keep_run(&found, period);
    st = light_lines(&found);
  }
  if (st) {
    light_clear(&found);
    return st;
  }
  *light = found;
  return VW_OK;
}

/// Whether a lamp flashes evenly.
static bool
is_even(const Light* light) {
  return vw_edges_are_even(&light->ups) && vw_edges_are_even(&light->downs) &&
         light->ups.line.fire_rate_per_s <= RATE_MOST_HZ &&
         light->bright.n >= EDGES_LEAST &&
         light->bright.jitter_ms < ON_JITTER_MOST_MS;
}

/// For how long it holds what it jumps to. A sound swings back at once.
static double
holds_ms(const Light* light) {
  return fmin(light->bright.middle_ms, light->dark.middle_ms);
}

/// Set what the edges tell. Returns those that begin a flash.
static const Edges*
gauge_edges(const Light* light, VwLampGauged* gauged) {
  const bool         shorter = light->bright.middle_ms <= light->dark.middle_ms;
  const bool         upright = light->upright ? light->upright > 0 : shorter;
  const Times* const on = upright ? &light->bright : &light->dark;
  const Times* const off = upright ? &light->dark : &light->bright;
  const Edges* const starts = upright ? &light->ups : &light->downs;
  const VwRapidFire* const line = &starts->line;
  const Drift              drift = vw_edges_drift(starts, light->rate_hz);
  *gauged = (VwLampGauged){
    .rate_hz = line->fire_rate_per_s,
    .uncertainty_hz = line->uncertainty_per_s,
    .jitter_ms = drift.jitter_ms,
    .rate_change = drift.rate_change,
    .flashes = line->n_on_line,
    .first_s = (double)starts->edges[line->first].start_frame / light->rate_hz,
    .on_ms = on->middle_ms,
    .on_jitter_ms = on->jitter_ms,
    .dark_ms = off->middle_ms,
    .shown = light->upright != 0,
    .hum_hz = light->hum_hz,
    .sound_lag_ms = NAN,
    .sound_rate_hz = NAN,
    .channel = light->channel,
  };
  return starts;
}

/// The distance from the nearest flash to a shot, ms; NaN if it is half a
/// period off or more.
static double
lag_of(const Edges* starts, unsigned rate_hz, size_t shot) {
  const double half_s = 0.5 / starts->line.fire_rate_per_s;
  double       nearest = HUGE_VAL;
  for (size_t i = 0; i < starts->n; ++i) {
    const double lag =
      ((double)shot - (double)starts->edges[i].start_frame) / rate_hz;
    if (starts->edges[i].on_line && fabs(lag) < fabs(nearest)) {
      nearest = lag;
    }
  }
  return fabs(nearest) < half_s ? 1e3 * nearest : NAN;
}

/// Set the lag of the sound in the other channel.
static VwStatus
gauge_sound(const VwSound* recording,
            const Edges*   starts,
            VwLampGauged*  gauged) {
  VwSound  sound = {0};
  VwEvents events = {0};
  VwStatus st = vw_sound_channel(recording, gauged->channel ? 0U : 1U, &sound);
  st = st ? st : vw_events_heard(&sound, &events);
  double* const lags = st ? NULL : malloc(events.n_events * sizeof(*lags));
  st = st || lags ? st : VW_NO_MEMORY;
  for (size_t i = 0; !st && i < events.n_events; ++i) {
    const double lag =
      lag_of(starts, recording->rate_hz, events.events[i].start_frame);
    lags[gauged->shots] = lag;
    gauged->shots += isnan(lag) ? 0U : 1U;
  }
  if (!st) {
    gauged->sound_lag_ms = vw_times_of(lags, gauged->shots).middle_ms;
  }
  if (!st && events.kind == VW_KIND_RAPID_FIRE) {
    gauged->sound_rate_hz = events.rapid.fire_rate_per_s;
  }
  free(lags);
  vw_events_clear(&events);
  vw_sound_clear(&sound);
  // No sound beside it is no fault of the lamp's.
  return st == VW_SILENT ? VW_OK : st;
}

static VwStatus
gauge_light(const VwSound* recording, const Light* light, VwLampGauged* out) {
  VwLampGauged gauged;
  if (!is_even(light)) {
    return VW_NO_STEADY_RATE;
  }
  const Edges* const starts = gauge_edges(light, &gauged);
  const VwStatus     st = recording->n_channels > 1U
                            ? gauge_sound(recording, starts, &gauged)
                            : VW_OK;
  if (!st) {
    *out = gauged;
  }
  return st;
}

/// Gauge the channel whose edges lie evenly; of two the one that holds longer.
static VwStatus
gauge_edges_of(const VwSound* recording, double edge_s, VwLampGauged* gauged) {
  Light    light[2] = {{.hum_hz = NAN}, {.hum_hz = NAN}};
  VwStatus st = VW_OK;
  for (unsigned c = 0; !st && c < recording->n_channels && c < 2U; ++c) {
    st = light_of(recording, c, edge_s, &light[c]);
  }
  if (!st) {
    const bool first = is_even(&light[0]);
    const bool both = first && is_even(&light[1]);
    const bool second =
      both ? holds_ms(&light[1]) > holds_ms(&light[0]) : !first;
    const Light* const lamp = &light[second ? 1 : 0];
    st = gauge_light(recording, lamp, gauged);
    gauged->may_be_sound = !st && recording->n_channels > 1U &&
                           (both || holds_ms(lamp) < HOLDS_LEAST_MS);
  }
  light_clear(&light[0]);
  light_clear(&light[1]);
  return st;
}

VwStatus
vw_lamp_gauge(const VwSound* recording, VwLampGauged* gauged) {
  assert(recording && gauged);
  if ((double)recording->n_frames < LIGHT_LEAST_S * recording->rate_hz) {
    return VW_TOO_SHORT;
  }
  const VwStatus st = gauge_edges_of(recording, EDGE_S, gauged);
  return st == VW_NO_STEADY_RATE
           ? gauge_edges_of(recording, EDGE_DIMMED_S, gauged)
           : st;
}
