#ifndef VW_SVG_H
#define VW_SVG_H

#include "pictures/sink.h"

/**
 * Put title and description behind the start of the outermost element, since
 * letters are drawn as outlines, which no program reads; and name the picture's
 * parts alike however many were drawn before.
 *
 * @param drawn A picture.
 * @param title UTF-8, or NULL; so is the description.
 * @param bytes Filled in on success.
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_svg_describe(const VwSink* drawn,
                         const char*   title,
                         const char*   description,
                         VwBytes*      bytes);

#endif
