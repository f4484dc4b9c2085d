/// @file
/// The library that draws pictures, loaded when one is asked for.
#ifndef VW_CLI_PICTURES_H
#define VW_CLI_PICTURES_H

#include <volleyweave/pictures.h>

/// Draw a picture, as SVG or PNG by the ending of `path`. #VW_MISSING where the
/// library is not there.
VwStatus pictures_draw(const VwPicture* picture,
                       const char*      path,
                       VwBytes*         bytes);

/// The same of a chart.
VwStatus pictures_draw_chart(const VwChart* chart,
                             const char*    path,
                             VwBytes*       bytes);

#endif
