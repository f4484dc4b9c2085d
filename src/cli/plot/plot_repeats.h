/// @file
/// A loop as it repeats, to be drawn about its seam.
#ifndef VW_CLI_PLOT_REPEATS_H
#define VW_CLI_PLOT_REPEATS_H

#include "burst/valley.h"
#include "cli/plot/plot_sound.h"

/// What is drawn of a family, and where its shallowest valley lies.
typedef struct {
  VwSound sound;   ///< The cycle again and again, gaps included; of a finished
                   ///< burst that burst. Owned.
  PlotSpan span;   ///< Two cycles of it, or the burst.
  VwValley valley; ///< Of no use for a burst.
  bool     burst;  ///< It is a finished burst.
} PlotRepeats;

/// The piece of a family that is one part, or NULL.
const VwPiece* plot_piece(const VwFamily* family, VwPart part);

/// Take the sound of a loop or burst.
///
/// @param repeats Filled in; free with plot_repeats_clear() also after a
/// failure.
/// @return #VW_OK or #VW_NO_MEMORY.
VwStatus plot_repeats_take(const VwFamily* family, PlotRepeats* repeats);

/// Free what it owns. NULL is accepted.
void plot_repeats_clear(PlotRepeats* repeats);

#endif
