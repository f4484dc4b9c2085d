#ifndef VW_PACK_FIGURES_H
#define VW_PACK_FIGURES_H

#include "pack/pack.h"

#include <stdio.h>

/// Print the line on a sound: its key, figures and files.
void vw_pack_figures_print(FILE*              out,
                           const VwPackSound* sound,
                           const VwPackWork*  work);

/**
 * Read figures and files from such a line.
 *
 * @param sound,work Filled in on success.
 * @return False where the line is none, or without memory.
 */
bool vw_pack_figures_read(const char*  line,
                          VwPackSound* sound,
                          VwPackWork*  work);

#endif
