#ifndef VW_CYCLE_H
#define VW_CYCLE_H

#include "volleyweave/volleyweave.h"

/**
 * Make the shots of one cycle from the single shots: started late, taking
 * turns, varied; not yet tightened.
 *
 * @param alone The single shots, one per take.
 * @param options Valley, variation and seed.
 * @param family Its plan and crests are read; its late starts are set, and its
 * shots and turns, for which there is room, are filled in.
 * @param bend_from Set, for each shot, to the frame from which its decay may be
 * bent.
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_cycle_make(const VwSound*         alone,
                       const VwFamilyOptions* options,
                       VwFamily*              family,
                       size_t*                bend_from);

#endif
