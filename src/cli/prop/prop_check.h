/// @file
/// What is wrong with a prop as a whole.
#ifndef VW_CLI_PROP_CHECK_H
#define VW_CLI_PROP_CHECK_H

#include "cli/prop/prop.h"
#include "cli/textfile/textfile.h"

/// Prove what no line alone can tell: names, takes, options together.
void prop_check(Prop* prop, Faults* faults);

#endif
