/// @file
/// One line per fault on standard error: `volleyweave: SUBJECT: fault: remedy`.
#ifndef VW_CLI_SAY_H
#define VW_CLI_SAY_H

#include "cli/message/text.h"

/// Ways in which the program ends.
enum {
  EXIT_DONE = 0,   ///< Everything was done.
  EXIT_FILE = 1,   ///< A file could not be used or written.
  EXIT_USAGE = 2,  ///< The command line makes no sense.
  EXIT_FAULTS = 3, ///< A check found faults.
};

/// Say what is wrong with `subject`, a file or an option. Returns false.
bool say(const char* subject, const char* format, ...) TEXT_FORMAT(2, 3);

/// Say it, and return #EXIT_USAGE.
int say_usage(const char* subject, const char* format, ...) TEXT_FORMAT(2, 3);

#endif
