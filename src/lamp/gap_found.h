#ifndef VW_GAP_FOUND_H
#define VW_GAP_FOUND_H

#include "lamp/spacing.h"

/**
 * How long the gap is for which a loop was made, seconds: what the file lacks
 * of as many periods as it has shots.
 *
 * To the frame, or nearly, where two shots have the same wave; else as exact as
 * the spacing is.
 *
 * @param mono The file's frames, of one channel.
 */
double vw_gap_found_s(const VwSound*   mono,
                      const VwHeard*   heard,
                      const VwSpacing* spacing);

#endif
