/// @file
/// The commands that the program prints, run as a person would who copies them.
#ifndef TESTS_PRINTED_H
#define TESTS_PRINTED_H

#include <stddef.h>

/// Run the commands in a text, each in a copy of this folder, unless that was
/// done before: those behind "Next:", and those between backquotes that name
/// more than a command. A card is any empty folder; what stands for a name, in
/// capital letters, is no command.
///
/// @param line What printed it.
void printed_try(const char* line, const char* text);

/// How many were run.
size_t printed_count(void);

/// How many failed; each was printed.
size_t printed_failed(void);

#endif
