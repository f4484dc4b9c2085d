#ifndef VW_SPACING_H
#define VW_SPACING_H

#include "lamp/bands.h"
#include "lamp/pulse.h"

/// What of a loop tells where its shots lie. Starts all zero.
typedef struct {
  VwPulses pulses;  ///< Its level. Owned.
  VwBands  bands;   ///< Owned.
  double   loudest; ///< Level of its loudest crest.
} VwHeard;

/**
 * Listen to one cycle of a loop.
 *
 * @param mono The file's frames, of one channel.
 * @param heard Filled in on success; free it with vw_heard_clear().
 * @return #VW_OK, #VW_NO_MEMORY, #VW_SILENT.
 */
VwStatus vw_heard_take(const VwSound* mono, VwHeard* heard);

/// Free what is owned. NULL is accepted.
void vw_heard_clear(VwHeard* heard);

/// Shots that follow each other evenly, the first at the file's start, and what
/// speaks for it that the loop is made of these.
typedef struct {
  size_t shots;
  double period_s;
  bool   wraps;    ///< The last one's period ends with the file, and the
                   ///< tails run on over the seam. Else a pause follows.
  double next;     ///< How alike a shot and its next are, the mean of all.
  double partner;  ///< How alike a shot and that of the others are to which
                   ///< it is nearest, the mean of all.
  double least_db; ///< How much the level rises where a shot starts, at least.
  double third_db; ///< The same, but for the third of the shots with the
                   ///< least rise.
  double first_db; ///< How far the first shot's crest is below the loudest.
  double one_course; ///< What of the level's variance the mean course of all
                     ///< shots explains, 0 to 1.
} VwSpacing;

/**
 * Find out what speaks for a spacing.
 *
 * @param spacing Its number of shots (1 and up), period and seam are read, the
 * rest is filled in.
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_spacing_judge(const VwHeard* heard, VwSpacing* spacing);

#endif
