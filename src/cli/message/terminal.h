/// @file
/// The terminal that a stream is shown on.
#ifndef VW_CLI_TERMINAL_H
#define VW_CLI_TERMINAL_H

#include <stdbool.h>
#include <stdio.h>

/// A terminal, or none: all zero.
typedef struct {
  size_t n_columns; ///< How wide it is, or as wide as is wanted, if less.
  bool   utf8;      ///< The locale's characters are UTF-8.
} Terminal;

/// The terminal that `stream` writes to.
Terminal terminal_of(FILE* stream);

#endif
