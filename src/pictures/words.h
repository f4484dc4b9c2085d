#ifndef VW_WORDS_H
#define VW_WORDS_H

#include "pictures/canvas.h"

/// A text that fits into a width: as it is, or with what is too much left out
/// of its middle. To be freed; NULL without memory.
char* vw_words_shorten(VwCanvas*   canvas,
                       double      size,
                       double      width,
                       const char* text);

/// How many bytes of a text go into a line of that width, at least one
/// character: up to a space or the end, or else as much as fits. What follows,
/// without spaces, is the next line.
size_t vw_words_in_line(VwCanvas*   canvas,
                        double      size,
                        double      width,
                        const char* text);

#endif
