/// @file
/// What a prop wants of each sound on one board.
#ifndef VW_CLI_PROP_WISH_H
#define VW_CLI_PROP_WISH_H

#include "cli/prop/prop.h"
#include "pack/pack.h"

/// What is different for a sound on a board, or NULL. `board` may be NULL.
const PropOn* prop_on(const Prop*      prop,
                      const PropSound* sound,
                      const char*      board);

/// The slot of a sound on a board, 0 without one. `board` may be NULL.
unsigned prop_slot(const Prop* prop, const PropSound* sound, const char* board);

/**
 * Put together what is asked for a sound: the defaults, `[prop]`, the command
 * line, the sound's section, and that for the board, each before the next.
 *
 * @param sound NULL: what is asked for all of them.
 * @param board Name of the board, or NULL.
 * @param line What was given on the command line, or NULL.
 * @return Points into `prop` and `line`, owns nothing.
 */
Settings prop_settings(const Prop*      prop,
                       const PropSound* sound,
                       const char*      board,
                       const Settings*  line);

/**
 * What is wanted of each sound on a board.
 *
 * @return As many as there are sounds, to be freed; they point into `prop`.
 * NULL without memory.
 */
VwSoundWish* prop_wishes(const Prop*     prop,
                         const char*     board,
                         const Settings* line);

#endif
