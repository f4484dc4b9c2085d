/// @file
/// What the program says of faults: short, and with a remedy.
#ifndef TESTS_SAID_H
#define TESTS_SAID_H

#include <stdbool.h>
#include <stddef.h>

/// Lines of 79 columns that a text takes up as a terminal of 80 shows it, what
/// goes on set in by two. A path counts 24 columns at most.
size_t said_lines(const char* text);

/// Whether a text says what to do: a clause of it starts with a word of doing,
/// asks "did you mean", or has what there is.
bool said_remedy(const char* text);

/// Look at each line of the program in a text: two lines at most, and a remedy,
/// unless it counts what failed.
///
/// @param line What printed it.
/// @param faults The lines are those of `check`, which do not name the program.
void said_try(const char* line, const char* text, bool faults);

/// How many were looked at, each once.
size_t said_count(void);

/// How many are too long or have no remedy; each was printed.
size_t said_failed(void);

#endif
