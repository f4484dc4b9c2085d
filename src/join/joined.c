#include "base/size.h"
#include "base/units.h"
#include "burst/internal.h"
#include "join/join.h"
#include "signal/signal.h"
#include "take/take.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

// What comes before and after the loop leads over within so long, and is
// searched for within this.
#define LEAD_S 0.05
#define RANGE_S 0.5

// Another sound is led over to where it is so near to its loudest, 6 dB: from
// a softer place all that follows would be raised with it.
#define STEP_S 0.01
#define LOUD_LEAST 0.25

// Levels on both sides are matched by no more than this.
#define MATCH_MOST_DB 20.0

/* Run-in and ring-out */

/// Where one sound leads over into another.
typedef struct {
  size_t at; ///< In the sound searched.
  size_t n;  ///< Frames of the crossfade.
  double likeness;
  double gain;    ///< Of the sound searched, for the levels to match.
  double left_db; ///< What more it would take.
} Lead;

/// Have one power brought to another.
static void
match(double power, double from, Lead* lead) {
  const double db =
    power > 0.0 && from > 0.0 ? vw_db_of_power(power / from) : 0.0;
  const double gain_db = fmin(fmax(db, -MATCH_MOST_DB), MATCH_MOST_DB);
  lead->gain = vw_gain_of_db(gain_db);
  lead->left_db = db - gain_db;
}

/// Find where a sound is most alike to what it leads over to or from. If there
/// is a choice, what comes until `n_more` frames later is a multiple of `unit`.
static VwStatus
find_lead(VwSlide wish, size_t n_more, size_t unit, Lead* lead) {
  const size_t step = wish.n_lags < unit ? 1U : unit;
  const size_t n_over = (wish.from + wish.n + n_more) % step;
  const size_t first = (step - n_over) % step;
  wish.from += first;
  wish.n_lags -= first;
  *lead = (Lead){.at = wish.from, .n = wish.n};
  const VwStatus st = vw_slide_best(&wish, step, &lead->at, &lead->likeness);
  match(vw_join_power(wish.one, wish.at, wish.n),
        vw_join_power(wish.other, lead->at, wish.n),
        lead);
  return st;
}

/// What is said of a lead over to or from another sound.
static VwJoinLead
tell(const Lead* lead) {
  return (VwJoinLead){lead->at,
                      lead->n,
                      lead->likeness,
                      vw_db_of_power(lead->gain * lead->gain),
                      lead->left_db};
}

static void
copy_frames(const VwSound* from, size_t at, size_t n, double gain, float* to) {
  const float* const values = from->values + at * from->n_channels;
  for (size_t i = 0; i < n * from->n_channels; ++i) {
    to[i] = (float)(gain * (double)values[i]);
  }
}

/// Crossfade `n` frames, those of the lead's sound with their gain.
static void
blend_frames(const VwSound* searched,
             const Lead*    lead,
             const VwSound* sound,
             size_t         at,
             bool           comes,
             float*         to) {
  const size_t       n_channels = sound->n_channels;
  const float* const one = searched->values + lead->at * n_channels;
  const float* const other = sound->values + at * n_channels;
  for (size_t i = 0; i < lead->n; ++i) {
    const VwGains gains = vw_join_gains(i, lead->n, lead->likeness);
    const double  g_one = lead->gain * (comes ? gains.in : gains.out);
    const double  g_other = comes ? gains.out : gains.in;
    for (size_t c = 0; c < n_channels; ++c) {
      const size_t k = i * n_channels + c;
      to[k] = (float)(g_one * (double)one[k] + g_other * (double)other[k]);
    }
  }
}

static size_t
least(size_t a, size_t b) {
  return a < b ? a : b;
}

/// Frames of the lead over between a loop and another sound.
static size_t
lead_frames(const VwSound* loop, const VwSound* searched) {
  const size_t usual = vw_frames_of_s(LEAD_S, (double)searched->rate_hz);
  return least(usual, least(loop->n_frames, searched->n_frames) / 4U);
}

/// Where a sound is within 6 dB of its loudest, in steps of 10 ms.
static void
find_loud(const VwSound* sound, size_t* from, size_t* to) {
  const size_t step = vw_frames_of_s(STEP_S, (double)sound->rate_hz);
  const size_t n = sound->n_frames;
  double       most = 0.0;
  for (size_t i = 0; i < n; i += step) {
    most = fmax(most, vw_join_power(sound, i, least(step, n - i)));
  }
  *from = n;
  *to = n;
  for (size_t i = 0; i < n; i += step) {
    const size_t end = least(i + step, n);
    if (vw_join_power(sound, i, end - i) >= LOUD_LEAST * most) {
      *from = least(*from, i);
      *to = end;
    }
  }
}

/// What is to be joined to what.
typedef struct {
  const VwSound*    sound; ///< Of which the loop is made.
  const VwSound*    loop;
  const VwJoin*     join;
  const VwJoinEnds* ends;
  VwJoined*         joined; ///< Its leads are told.
} Parts;

/// Match the level of another sound to that of a whole loop of rapid fire: what
/// sounds where it leads over is a shot, or the quiet after it.
static void
match_rapid(const Parts* parts, const VwSound* searched, Lead* lead) {
  const VwSound* const loop = parts->loop;
  if (parts->joined->fire) {
    match(vw_join_power(loop, 0U, loop->n_frames),
          vw_join_power(searched, lead->at, lead->n),
          lead);
  }
}

/// So many frames, or of rapid fire up to the start of a shot, of which there
/// are so many at most.
static size_t
up_to_shot(const Parts* parts, size_t n, size_t most) {
  const size_t shots = parts->join->shots;
  const size_t length = parts->loop->n_frames;
  if (parts->joined->fire && shots) {
    const size_t k = (n * shots + length - 1U) / length;
    n = k * length / shots;
  }
  return least(n, most);
}

/// All that comes before the loop.
static VwStatus
run_in_whole(const Parts* parts, VwSound* out) {
  const VwSound* const sound = parts->sound;
  const size_t         unit = parts->ends->frames_unit;
  const size_t         n = parts->join->start_frame;
  const size_t         n_before = (unit - n % unit) % unit;
  const VwStatus       st =
    vw_sound_init(out, n_before + n, sound->n_channels, sound->rate_hz);
  if (!st) {
    copy_frames(sound, 0U, n, 1.0, out->values + n_before * sound->n_channels);
  }
  return st;
}

/// Lead over from a sound to the loop's end, as much of it as the limiter needs
/// to be in the loop's own state where that starts.
static VwStatus
run_in_led(const Parts* parts, VwSlide wish, size_t n_end, VwSound* out) {
  const size_t unit = parts->ends->frames_unit;
  const size_t n_channels = parts->loop->n_channels;
  Lead         lead;
  VwStatus     st = find_lead(wish, n_end, unit, &lead);
  const size_t length = lead.at + lead.n + n_end;
  const size_t n_before = (unit - length % unit) % unit;
  if (parts->ends->run_in) {
    match_rapid(parts, wish.other, &lead);
    parts->joined->run_in = tell(&lead);
  } else {
    lead.gain = 1.0;
  }
  st =
    st ? st
       : vw_sound_init(
           out, n_before + length, (unsigned)n_channels, parts->loop->rate_hz);
  if (!st) {
    float* const to = out->values + n_before * n_channels;
    copy_frames(wish.other, 0U, lead.at, lead.gain, to);
    blend_frames(wish.other,
                 &lead,
                 parts->loop,
                 wish.at,
                 false,
                 to + lead.at * n_channels);
    copy_frames(parts->loop,
                wish.at + lead.n,
                n_end,
                1.0,
                to + (lead.at + lead.n) * n_channels);
  }
  return st;
}

/// The frames of the loop that lead from the first shots of rapid fire to the
/// loop, whole shots; 0: the loop is no longer than that.
static size_t
settling_frames(const Parts* parts) {
  const double rate_hz = (double)parts->loop->rate_hz;
  const size_t settle = vw_frames_of_s(VW_LIMITER_SETTLE_S, rate_hz);
  const size_t most = parts->loop->n_frames - parts->join->blend_frames;
  const size_t n = up_to_shot(parts, settle, SIZE_MAX);
  return parts->joined->settles && n <= most ? n : 0U;
}

/// Lead over from the quiet before the loop's first shot to that before one of
/// its last.
static VwStatus
run_in_settling(const Parts* parts, size_t n_end, VwSound* out) {
  const VwJoin* const join = parts->join;
  const size_t        n = join->blend_frames;
  const VwSlide       wish = {parts->loop,
                              parts->loop->n_frames - n - n_end,
                              parts->sound,
                              join->start_frame - n,
                              n,
                              1U};
  return run_in_led(parts, wish, n_end, out);
}

/// What comes before the loop: its own, all of it or as much as leads over to
/// the loop soon, or another sound.
static VwStatus
make_run_in(const Parts* parts, VwSound* out) {
  const VwJoin* const     join = parts->join;
  const VwJoinEnds* const ends = parts->ends;
  const bool              own = !ends->run_in;
  const VwSound* const    searched = own ? parts->sound : ends->run_in;
  const double            rate_hz = (double)searched->rate_hz;
  const size_t            range = vw_frames_of_s(RANGE_S, rate_hz);
  const size_t            n = lead_frames(parts->loop, searched);
  const size_t            n_end = up_to_shot(parts,
                                  vw_frames_of_s(VW_LIMITER_SETTLE_S, rate_hz),
                                  parts->loop->n_frames - n);
  // Another sound is wanted as it is.
  const size_t most = own ? vw_frames_of_s(ends->run_in_max_s, rate_hz) : 0U;
  size_t       from = join->steady_from;
  size_t       to = from + range;
  const size_t settling = own ? settling_frames(parts) : 0U;
  if (settling && (!most || join->start_frame + settling <= most)) {
    return run_in_settling(parts, settling, out);
  }
  if (own && join->start_frame < from + range + n + n_end &&
      (!most || join->start_frame <= most)) {
    return run_in_whole(parts, out);
  }
  if (!own) {
    find_loud(searched, &from, &to);
    to = to > from + n ? to - n : from;
    from = to > from + range ? to - range : from;
  }
  if (most && to + n + n_end > most) {
    to = most > n + n_end ? most - n - n_end : 0U;
    from = least(from, to);
  }
  to = least(to, searched->n_frames - n);
  from = least(from, to);
  const VwSlide wish = {parts->loop,
                        parts->loop->n_frames - n - n_end,
                        searched,
                        from,
                        n,
                        to - from + 1U};
  return run_in_led(parts, wish, n_end, out);
}

/// Where the ring-out's sound is searched: right behind the loop, or where the
/// even part ends, or from where another is loud first.
static void
find_ring_out_range(const Parts* parts, size_t ahead, VwSlide* wish) {
  const VwJoin* const join = parts->join;
  const double        rate_hz = (double)parts->sound->rate_hz;
  const size_t        range = vw_frames_of_s(RANGE_S, rate_hz);
  size_t              to = 0U;
  if (parts->ends->ring_out) {
    find_loud(wish->other, &wish->from, &to);
    wish->from = least(wish->from, wish->other->n_frames - wish->n);
    to = to > wish->from + wish->n ? to - wish->n : wish->from;
    to = least(to, wish->from + range);
  } else {
    wish->from = join->start_frame + join->n_frames + ahead;
    wish->n = least(wish->n, parts->sound->n_frames - wish->from);
    to = wish->from;
    if (join->steady_to > to + wish->n + range) {
      to = join->steady_to - wish->n;
      wish->from = to - range;
    }
  }
  wish->n_lags = to - wish->from + 1U;
}

/// What comes after: first what the limiter looks ahead to, which is as the
/// loop's start; then it leads over.
static VwStatus
make_ring_out(const Parts* parts, VwSound* out) {
  const VwJoin* const  join = parts->join;
  const VwSound* const loop = parts->loop;
  const bool           own = !parts->ends->ring_out;
  const VwSound* const searched = own ? parts->sound : parts->ends->ring_out;
  const size_t         n_channels = loop->n_channels;
  const size_t         left =
    parts->sound->n_frames - join->start_frame - join->n_frames;
  const size_t usual = vw_shot_pre_roll(loop->rate_hz);
  const size_t ahead = own ? least(usual, left / 2U) : usual;
  const size_t n = lead_frames(loop, searched);
  VwSlide wish = {loop, least(ahead, loop->n_frames - n), searched, 0U, n, 1U};
  find_ring_out_range(parts, wish.at, &wish);
  Lead     lead;
  VwStatus st = find_lead(wish, 0U, 1U, &lead);
  if (!own) {
    match_rapid(parts, searched, &lead);
    parts->joined->ring_out = tell(&lead);
  }
  const size_t from = lead.at + lead.n;
  const size_t after = searched->n_frames - from;
  const size_t length = wish.at + lead.n + after;
  st = st ? st
          : vw_sound_init(
              out, length ? length : 1U, (unsigned)n_channels, loop->rate_hz);
  if (!st) {
    copy_frames(loop, 0U, wish.at, 1.0, out->values);
    blend_frames(
      searched, &lead, loop, wish.at, true, out->values + wish.at * n_channels);
    copy_frames(searched,
                from,
                after,
                lead.gain,
                out->values + (wish.at + lead.n) * n_channels);
  }
  return st;
}

/* All in one */

/// Lay down run-in, loops and ring-out, each running on into the next. The
/// sound is to be freed.
static VwStatus
lay(const VwSound* sound, const VwJoin* join, VwJoined* joined) {
  const size_t n_channels = sound->n_channels;
  VwSound      run_in = {0};
  VwSound      loop = {0};
  VwSound      ring_out = {0};
  const Parts  parts = {sound, &loop, join, &joined->ends, joined};
  VwStatus     st = vw_join_loop(sound, join, &loop);
  st = st ? st : make_run_in(&parts, &run_in);
  st = st ? st : make_ring_out(&parts, &ring_out);
  const size_t before = run_in.n_frames;
  const size_t loops = joined->n_loops * loop.n_frames;
  st = st ? st
          : vw_sound_init(&joined->sound,
                          before + loops + ring_out.n_frames,
                          (unsigned)n_channels,
                          sound->rate_hz);
  if (!st) {
    float* const to = joined->sound.values;
    copy_frames(&run_in, 0U, before, 1.0, to);
    for (size_t i = 0; i < joined->n_loops; ++i) {
      copy_frames(&loop,
                  0U,
                  loop.n_frames,
                  1.0,
                  to + (before + i * loop.n_frames) * n_channels);
    }
    copy_frames(&ring_out,
                0U,
                ring_out.n_frames,
                1.0,
                to + (before + loops) * n_channels);
    joined->n_run_in = before;
    joined->n_loop = loop.n_frames;
  }
  vw_sound_clear(&run_in);
  vw_sound_clear(&loop);
  vw_sound_clear(&ring_out);
  return st;
}

void
vw_join_steady(const VwJoined* joined, VwLevelSounds* sounds) {
  const size_t settle =
    vw_frames_of_s(VW_LIMITER_SETTLE_S, (double)joined->sound.rate_hz) /
      joined->n_loop +
    1U;
  const size_t before = settle < joined->n_loops ? settle : 0U;
  sounds->burst = sounds->alone;
  sounds->steady = joined->n_run_in + before * joined->n_loop;
  sounds->n_steady = (joined->n_loops - before) * joined->n_loop;
}

/* Made */

/// The unit of a sound that sounds on, which may fill whole blocks as well.
static size_t
hum_unit(const VwFamilyOptions* options) {
  const size_t unit = vw_size_loop_unit(options);
  return options->form != VW_FORM_BURST && options->block_frames % unit == 0U
           ? options->block_frames
           : unit;
}

VwStatus
vw_join_make(const VwSound*         sound,
             const VwFamilyOptions* options,
             VwJoin*                join,
             VwJoined*              joined) {
  const bool       burst = options->form == VW_FORM_BURST;
  const size_t     unit = vw_size_loop_unit(options);
  const VwJoinWish wish = {options->cycle_s,
                           options->cycle_max_s,
                           vw_size_loop_most(options),
                           joined->fire ? unit : hum_unit(options),
                           vw_size_gap(options, sound->rate_hz)};
  joined->ends.run_in_max_s = options->run_in_max_s;
  joined->ends.frames_unit = wish.frames_unit;
  VwStatus st = joined->fire
                  ? vw_join_find_rapid(sound, &wish, joined->fire, join)
                  : vw_join_find(sound, &wish, join);
  if (st) {
    return st;
  }
  const double loop_s = (double)join->n_frames / (double)sound->rate_hz;
  joined->n_loops =
    burst ? options->burst_shots
          : (size_t)((VW_LIMITER_SETTLE_S + VW_STEADY_HEARD_S) / loop_s) + 2U;
  st = burst && options->burst_shots * loop_s > VW_BURST_MOST_S
         ? VW_BURST_TOO_LONG
         : lay(sound, join, joined);
  join->run_in = joined->run_in;
  join->ring_out = joined->ring_out;
  return st;
}
