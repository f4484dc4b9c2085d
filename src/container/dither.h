#ifndef VW_DITHER_H
#define VW_DITHER_H

#include "base/random.h"

#include "volleyweave/volleyweave.h"

/// The next value of TPDF dither, in LSB: more than -1, less than 1.
double vw_dither_next(VwRandom* random);

/// How many frames from `frame` on are silence that dither must leave alone.
///
/// Frames of zeros count where they begin or end the sound or are 32 or more
/// in a row; ask at the first of them.
size_t vw_dither_silence(const VwSound* sound, size_t frame);

#endif
