/// @file
/// Run the program before a terminal of a given width, and what it shows there.
#ifndef TESTS_TERMINALS_H
#define TESTS_TERMINALS_H

#include "support/run.h"

/// A terminal of the test's own.
typedef struct {
  unsigned short n_columns; ///< 0: it does not say.
  bool           errors;    ///< It shows standard error, else standard output.
} TestTerminal;

/// Run the program with the words of `line`, split at spaces. What the terminal
/// got is in `out` or `err`, with ends of lines as they were written.
Run terminal_run(const TestTerminal* terminal, const char* line);

/// Columns that a text takes up to the end of its line, each character of UTF-8
/// taking one.
size_t terminal_columns(const char* text);

/// The byte at which a column of a line begins.
const char* terminal_at(const char* line, size_t column);

#endif // TESTS_TERMINALS_H
