/// @file
/// The terminal that a stream is shown on.
#ifndef VW_CLI_TERMINAL_H
#define VW_CLI_TERMINAL_H

#include <stdio.h>

/// How wide the terminal is that `stream` writes to, or as wide as COLUMNS asks
/// for, if less; 0: it is none.
size_t terminal_width(FILE* stream);

#endif
