#ifndef VW_ALONE_H
#define VW_ALONE_H

#include "volleyweave/volleyweave.h"

/// What a single sound is made for.
typedef struct {
  VwFormat format;     ///< The board's.
  double   speaker_hz; ///< What lies below is taken away; 0: nothing.
  bool     whole;      ///< The take as it is, not cut to the shot.
} VwAloneWish;

/// The sample rate at which shots are made: as asked, or, with 0, 44.1 kHz or
/// the highest of the takes' if that is lower.
unsigned vw_alone_rate(const VwTake* takes, size_t n_takes, unsigned asked_hz);

/**
 * Make the single shot of a take in the board's format: cut, channels, sample
 * rate, closed ends, even bytes.
 *
 * @param wish Its format has the sample rate filled in.
 * @param alone Filled in on success; free it with vw_sound_clear().
 * @param use Its down-mix and crest are set on success.
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_alone_make(const VwTake*      take,
                       const VwShotFacts* facts,
                       const VwAloneWish* wish,
                       VwSound*           alone,
                       VwTakeUse*         use);

#endif
