#ifndef VW_OPTIONS_H
#define VW_OPTIONS_H

#include "volleyweave/volleyweave.h"

/// Whether all options lie in the ranges that the public header states, and
/// the shots can be shared out evenly among `n_takes` takes.
bool vw_options_are_sound(const VwFamilyOptions* options, size_t n_takes);

#endif
