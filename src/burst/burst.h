#ifndef VW_BURST_H
#define VW_BURST_H

#include "volleyweave/volleyweave.h"

/// The shots of one cycle and how they are laid down.
typedef struct {
  const VwSound* shots; ///< `plan->shots` of them.
  const VwPlan*  plan;
  VwTail         tail;
  double         ceiling; ///< Highest value of the burst; HUGE_VAL: no limiter.
  bool           closed;  ///< The cycle is a file of its own, its ends faded.
} VwVolley;

/// Length of the longest shot, frames.
size_t vw_volley_longest(const VwVolley* volley);

/**
 * Lay down `n_shots` shots, the first at frame 0.
 *
 * A choked tail is faded from the start of the next shot on: nothing of a shot
 * depends on a next one that may never come, and the last rings out whole.
 *
 * @param n_shots 1 or more.
 * @param burst Filled in on success; free it with vw_sound_clear(). It ends
 * with its last tail.
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_burst_lay(const VwVolley* volley, size_t n_shots, VwSound* burst);

/// Fade the first and the last 2 ms of a cycle from and to zero, the last
/// `n_gap` frames left aside: these become zeros.
void vw_burst_close_cycle(VwSound* cycle, size_t n_gap);

/**
 * The steady cycle from the first shot's start, all older tails under it, its
 * ends faded and the gap silent where the volley is closed.
 *
 * @param cycle Zeros are not needed; must have the plan's length and the
 * shots' channels.
 */
void vw_burst_fold(const VwVolley* volley, VwSound* cycle);

#endif
