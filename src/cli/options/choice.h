/// @file
/// Words that an option takes.
#ifndef VW_CLI_CHOICE_H
#define VW_CLI_CHOICE_H

#include "cli/message/words.h"

#include <stdbool.h>

/// Find a word among choices. False, and said of `shown`, where it is none.
bool choose(const Choice* choices,
            const char*   shown,
            const char*   word,
            int*          value);
#endif
