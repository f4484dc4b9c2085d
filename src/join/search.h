/// @file
/// The search for a join, while it lasts.
#ifndef VW_JOIN_SEARCH_H
#define VW_JOIN_SEARCH_H

#include "join/join.h"

/// A loop that is looked at.
typedef struct {
  size_t at; ///< Its first frame.
  size_t n;
  size_t n_blend;
  double likeness;
  double cost; ///< Of noise: the less, the better.
} VwJoinTried;

/// The search for a loop.
typedef struct {
  const VwSound*    sound;
  const VwJoinWish* wish;
  VwTexture         texture;
  size_t            from; ///< The steadiest stretch.
  size_t            to;   ///< Without the room after the loop.
  size_t            low;  ///< Lengths.
  size_t            high;
  double*           over_lag; ///< Likeness of lengths from `low` on. Owned.
} VwJoinSearch;

/// The join that a loop would be.
VwJoin vw_join_of(const VwJoinSearch* search, const VwJoinTried* loop);

/**
 * Tell what the join of the loop that was chosen is like.
 *
 * @param join Its steady stretch is known; filled in on success.
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_join_describe(const VwJoinSearch* search,
                          const VwJoinTried*  loop,
                          VwJoin*             join);

#endif
