/// @file
/// What makes light of a lamp track, drawn.
#ifndef VW_CLI_LAMP_PLOT_TRACK_H
#define VW_CLI_LAMP_PLOT_TRACK_H

#include "cli/lamp/lamp_report.h"
#include "cli/lamp/sheet.h"

/// Draw the circuit, with values.
void lamp_plot_track(const LampReport* report, Sheet* sheet);

/// What is to be said below it. To be freed; NULL without memory.
char* lamp_plot_track_words(const LampReport* report);

#endif
