#ifndef VW_TRACK_FOUND_H
#define VW_TRACK_FOUND_H

#include "volleyweave/volleyweave.h"

/**
 * Whether the second of two channels is a lamp track: tones of one frequency
 * and one level with silence between, and nothing else.
 *
 * Nothing in a file says so. Of a sound that is taken for one, a steady whistle
 * beside something else, only the first channel is then judged.
 */
bool vw_track_is_in(const VwSound* sound);

#endif
