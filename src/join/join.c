#include "join/search.h"

#include "base/units.h"
#include "signal/signal.h"

#include <math.h>
#include <stdlib.h>

// An asked length is met to this part; if nothing repeats there, it is looked
// for up to so much of it (chosen here).
#define ASKED_NEAR 0.05
#define BETTER_NEAR 1.5

// Noise is crossfaded over so long: some turns of all that is heard as its own
// movement, and little of a loop (chosen here).
#define NOISE_BLEND_S 0.3

// Room after the loop for the lead over into the ring-out.
#define AFTER_S 0.06

// No shorter a loop, and no shorter a crossfade, is tried.
#define LOOP_LEAST_S 0.02
#define BLEND_LEAST_S 0.005

// So many lags are looked at closely, each at so many places.
#define CLOSE_LAGS 48U
#define PLACES 3U

// What is found over lags is right to this: those within it are as good, and
// the longest are looked at (chosen here).
#define FOUND_TO 1e-5

// So much less alike than the best a longer loop may be: sidebands 90 dB down
// of tones that are led over as one, or a tenth more of what differs.
#define AS_GOOD 2e-4
#define AS_GOOD_SHARE 0.1

// Of noise so many places of each length are compared, a texture's step from
// one length to the next, or so many; and so many are looked at closely.
#define NOISE_LENGTHS_MOST 200U
#define NOISE_PLACES 40U
#define NOISE_CLOSE 96U

// What a loop of noise pays for being short, dB for the whole length; and for a
// level off at the join, dB a dB (chosen here).
#define SHORT_COSTS_DB 3.0
#define LEVEL_COSTS 4.0
#define LEVEL_OFF_DB 0.7
#define OFF_COSTS 20.0

/* The stretch */

static VwStatus
find_stretch(VwJoinSearch* search, VwJoin* join) {
  const VwSound* const    sound = search->sound;
  const VwTexture* const  texture = &search->texture;
  const VwJoinWish* const wish = search->wish;
  const double            rate_hz = (double)sound->rate_hz;
  const double            longest_s = wish->cycle_s > 0.0
                                        ? (1.0 + ASKED_NEAR) * wish->cycle_s
                                        : wish->cycle_max_s;
  const size_t            n_wished =
    vw_frames_of_s(2.0 * longest_s + 2.0 * AFTER_S, rate_hz) / texture->n_step +
    2U;
  size_t         from = 0;
  size_t         n = 0;
  const VwStatus st = vw_texture_steadiest(texture, n_wished, &from, &n);
  if (st) {
    return st;
  }
  size_t whole_from = from;
  size_t whole_to = from + n;
  vw_texture_widen(texture, &whole_from, &whole_to);
  // A stretch that was cut short may yet be as long as it is even.
  if (whole_to - whole_from <= n_wished) {
    from = whole_from;
    n = whole_to - whole_from;
  }
  const size_t end = (from + n) * texture->n_step;
  const size_t after = vw_frames_of_s(AFTER_S, rate_hz);
  search->from = from * texture->n_step;
  search->to = end < sound->n_frames ? end : sound->n_frames;
  const size_t length = search->to - search->from;
  search->to -= after < length / 8U ? after : length / 8U;
  join->steady_from = whole_from * texture->n_step;
  join->steady_to = whole_to * texture->n_step;
  if (join->steady_to > sound->n_frames) {
    join->steady_to = sound->n_frames;
  }
  return VW_OK;
}

/// Lengths of which a part of the stretch is left for a crossfade.
static VwStatus
set_lengths(VwJoinSearch* search, size_t n_most) {
  const VwJoinWish* const wish = search->wish;
  const double            rate_hz = (double)search->sound->rate_hz;
  const size_t            unit = wish->frames_unit;
  const size_t            least = vw_frames_of_s(LOOP_LEAST_S, rate_hz);
  size_t                  high = vw_frames_of_s(wish->cycle_max_s, rate_hz);
  size_t                  low = 0;
  if (wish->cycle_s > 0.0) {
    high = vw_frames_of_s((1.0 + ASKED_NEAR) * wish->cycle_s, rate_hz);
    low = vw_frames_of_s((1.0 - ASKED_NEAR) * wish->cycle_s, rate_hz);
  }
  high = high < n_most ? high : n_most;
  high = (high < wish->frames_most ? high : wish->frames_most) / unit * unit;
  if (!high) {
    return wish->frames_most < unit ? VW_FILE_TOO_BIG : VW_CYCLE_TOO_LONG;
  }
  if (!low || low > high) {
    low = high / 2U > least ? high / 2U : least;
  }
  low = low < high ? (low + unit - 1U) / unit * unit : high;
  search->low = low;
  search->high = high;
  return VW_OK;
}

static size_t
length_of(const VwJoinSearch* search) {
  return search->to - search->from;
}

static size_t
least_blend(const VwJoinSearch* search) {
  const size_t n =
    vw_frames_of_s(BLEND_LEAST_S, (double)search->sound->rate_hz);
  return n < length_of(search) / 4U ? n : length_of(search) / 4U;
}

/* What repeats */

static VwStatus
find_over_lag(VwJoinSearch* search) {
  const size_t room = length_of(search) - search->high;
  const size_t n = search->low < room ? search->low : room;
  const size_t n_lags = search->high - search->low + 1U;
  const size_t at = search->to - search->high - n;
  search->over_lag = calloc(n_lags, sizeof(double));
  const VwSlide wish = {
    search->sound, at, search->sound, at + search->low, n, n_lags};
  return search->over_lag ? vw_slide_over_lag(&wish, search->over_lag)
                          : VW_NO_MEMORY;
}

/// Keep a loop among the best, the cheapest first.
static void
keep(VwJoinTried* best, size_t n_most, size_t* n, const VwJoinTried* loop) {
  size_t i = *n < n_most ? (*n)++ : n_most;
  if (i == n_most && best[--i].cost <= loop->cost) {
    return;
  }
  for (; i && best[i - 1U].cost > loop->cost; --i) {
    best[i] = best[i - 1U];
  }
  best[i] = *loop;
}

/// A first frame in [from, to], a multiple of the unit if there is one.
static size_t
place(const VwJoinSearch* search, size_t from, size_t to) {
  const size_t unit = search->wish->frames_unit;
  const size_t even = (from + unit - 1U) / unit * unit;
  return even <= to ? even : from;
}

/// How alike both ends of a loop are where they are crossfaded.
static double
likeness_of(const VwJoinSearch* search, const VwJoinTried* loop) {
  const size_t  from = loop->at - loop->n_blend;
  const VwSlide wish = {
    search->sound, from, search->sound, from + loop->n, loop->n_blend, 1U};
  return vw_slide_likeness(&wish);
}

/// The best loop of a length, crossfaded for as long as there is room.
static VwJoinTried
look_closely(const VwJoinSearch* search, size_t n) {
  const size_t room = length_of(search) - n;
  const size_t n_blend = n < room ? n : room;
  VwJoinTried  best = {.likeness = -2.0};
  for (size_t i = 0; i < PLACES; ++i) {
    const size_t from = search->from + n_blend + (room - n_blend) * i / PLACES;
    VwJoinTried  loop = {
       .at = place(search, from, search->to - n), .n = n, .n_blend = n_blend};
    loop.likeness = likeness_of(search, &loop);
    best = loop.likeness > best.likeness ? loop : best;
  }
  return best;
}

/// The longest loop that is as good as the best, or that which is nearest to a
/// length asked.
static VwJoinTried
find_repeating(const VwJoinSearch* search) {
  const size_t unit = search->wish->frames_unit;
  VwJoinTried  close[CLOSE_LAGS];
  size_t       n = 0;
  for (size_t length = search->high; length >= search->low && length;
       length -= unit) {
    const double likeness = search->over_lag[length - search->low];
    VwJoinTried  loop = {.n = length};
    loop.cost = -floor(likeness / FOUND_TO + 0.5);
    keep(close, CLOSE_LAGS, &n, &loop);
  }
  double most = -1.0;
  for (size_t i = 0; i < n; ++i) {
    close[i] = look_closely(search, close[i].n);
    most = fmax(most, close[i].likeness);
  }
  const double enough = most - AS_GOOD - AS_GOOD_SHARE * (1.0 - most);
  const double wished_s = search->wish->cycle_s;
  const double wished = wished_s > 0.0
                          ? wished_s * (double)search->sound->rate_hz
                          : (double)search->high;
  VwJoinTried  best = {0};
  for (size_t i = 0; i < n; ++i) {
    if (close[i].likeness >= enough &&
        fabs((double)close[i].n - wished) < fabs((double)best.n - wished)) {
      best = close[i];
    }
  }
  return best;
}

/* What does not repeat */

/// How far the textures about both ends of a loop are apart, its movement
/// included.
static double
apart_of(const VwJoinSearch* search, const VwJoinTried* loop) {
  const VwTexture* const texture = &search->texture;
  const size_t           n_step = texture->n_step;
  const size_t           from = (loop->at - loop->n_blend) / n_step;
  return vw_texture_apart_db(
    texture, from, from + loop->n / n_step, loop->n_blend / n_step + 1U);
}

static double
cost_of_length(const VwJoinSearch* search, size_t n) {
  const double wished_s = search->wish->cycle_s;
  const double n_wished = wished_s > 0.0
                            ? wished_s * (double)search->sound->rate_hz
                            : (double)search->high;
  return SHORT_COSTS_DB * fabs(1.0 - (double)n / n_wished);
}

/// Move a loop's end by half a step at most to where it is most alike.
static VwStatus
refine(const VwJoinSearch* search, VwJoinTried* loop) {
  const size_t unit = search->wish->frames_unit;
  const size_t half = search->texture.n_step / 2U;
  const size_t least =
    loop->n > search->low + half ? loop->n - half : search->low;
  const size_t low = (least + unit - 1U) / unit * unit;
  const size_t room = search->to - loop->at;
  size_t high = loop->n + half < search->high ? loop->n + half : search->high;
  high = high < room ? high : room;
  loop->likeness = -2.0;
  if (low > high) {
    return VW_OK;
  }
  const size_t   from = loop->at - loop->n_blend;
  size_t         at = 0;
  const VwSlide  wish = {search->sound,
                         from,
                         search->sound,
                         from + low,
                         loop->n_blend,
                         high - low + 1U};
  const VwStatus st = vw_slide_best(&wish, unit, &at, &loop->likeness);
  loop->n = st ? loop->n : at - from;
  return st;
}

/// Look at the best of many places and lengths.
static VwStatus
find_noise(const VwJoinSearch* search, VwJoinTried* best) {
  const size_t unit = search->wish->frames_unit;
  const size_t n_blend = best->n_blend;
  VwJoinTried  close[NOISE_CLOSE];
  size_t       n = 0;
  VwStatus     st = VW_OK;
  const size_t n_step = search->texture.n_step;
  const size_t lengths = (search->high - search->low) / n_step + 1U;
  const size_t stride =
    n_step * ((lengths + NOISE_LENGTHS_MOST - 1U) / NOISE_LENGTHS_MOST);
  for (size_t whole = search->high / n_step * n_step;
       whole >= search->low && whole;
       whole -= whole < stride ? whole : stride) {
    const size_t length = whole / unit * unit;
    const size_t room = length_of(search) - n_blend - length;
    for (size_t k = 0; length && k < NOISE_PLACES; ++k) {
      const size_t from =
        search->from + n_blend + room * k / (NOISE_PLACES - 1U);
      VwJoinTried loop = {.at = place(search, from, search->to - length),
                          .n = length,
                          .n_blend = n_blend};
      loop.cost = apart_of(search, &loop) + cost_of_length(search, length);
      keep(close, NOISE_CLOSE, &n, &loop);
    }
  }
  best->cost = HUGE_VAL;
  for (size_t i = 0; !st && i < n; ++i) {
    double level_db = 0.0;
    st = refine(search, &close[i]);
    const VwJoin join = vw_join_of(search, &close[i]);
    st = st ? st : vw_join_level_db(search->sound, &join, &level_db);
    close[i].cost += LEVEL_COSTS * fabs(level_db) +
                     OFF_COSTS * fmax(fabs(level_db) - LEVEL_OFF_DB, 0.0) -
                     close[i].likeness;
    *best = close[i].cost < best->cost ? close[i] : *best;
  }
  return st;
}

/* The search */

/// The best loop where something repeats; where nothing does, the lengths for
/// one of noise are set.
static VwStatus
find_loop(VwJoinSearch* search, VwJoinTried* loop) {
  const size_t length = length_of(search);
  const bool   asked = search->wish->cycle_s > 0.0;
  VwStatus     st =
    set_lengths(search, asked ? length - least_blend(search) : length / 2U);
  st = st ? st : find_over_lag(search);
  if (!st) {
    *loop = find_repeating(search);
  }
  if (st || loop->likeness >= VW_JOIN_ALIKE) {
    return st;
  }
  const double rate_hz = (double)search->sound->rate_hz;
  const size_t usual = vw_frames_of_s(NOISE_BLEND_S, rate_hz);
  size_t       n_blend = usual < length / 4U ? usual : length / 4U;
  if (asked && search->high + n_blend > length) {
    n_blend = length - search->high;
  }
  const size_t low = search->low;
  const size_t high = search->high;
  st = set_lengths(search, length - n_blend);
  loop->n_blend = n_blend < search->low ? n_blend : search->low;
  st = st ? st : find_noise(search, loop);
  // The likeness that is drawn is that over the lags looked at first.
  search->low = low;
  search->high = high;
  return st;
}

static VwStatus
find_asked(const VwSound* sound, const VwJoinWish* wish, VwJoin* join) {
  VwJoinSearch search = {.sound = sound, .wish = wish};
  VwJoinTried  loop = {0};
  VwJoin       out = {0};
  VwStatus     st = vw_texture_take(sound, &search.texture);
  st = st ? st : find_stretch(&search, &out);
  st = st ? st : find_loop(&search, &loop);
  st = st ? st : vw_join_describe(&search, &loop, &out);
  vw_texture_clear(&search.texture);
  free(search.over_lag);
  if (!st) {
    *join = out;
  }
  return st;
}

/// Look for a length about the one asked at which something does repeat.
static VwStatus
find_better(const VwSound* sound, const VwJoinWish* wish, VwJoin* join) {
  VwJoinWish any = *wish;
  VwJoin     other = {0};
  any.cycle_s = 0.0;
  any.cycle_max_s = BETTER_NEAR * wish->cycle_s;
  const VwStatus st = find_asked(sound, &any, &other);
  if (!st && other.kind == VW_JOIN_REPEATS) {
    join->better_s = (double)other.n_frames / (double)sound->rate_hz;
  }
  return st == VW_NO_MEMORY ? st : VW_OK;
}

VwStatus
vw_join_find(const VwSound* sound, const VwJoinWish* wish, VwJoin* join) {
  const VwStatus st = find_asked(sound, wish, join);
  return !st && wish->cycle_s > 0.0 && join->kind == VW_JOIN_NOTHING
           ? find_better(sound, wish, join)
           : st;
}
