/// @file
/// Faults of a prop or board file: each is said with its line, up to a number.
#ifndef VW_CLI_PROP_FAULT_H
#define VW_CLI_PROP_FAULT_H

#include "base/status.h"
#include "cli/message/text.h"

#include <volleyweave/volleyweave.h>

#include <stdbool.h>
#include <stddef.h>

/// The faults of one file. Starts with its path alone.
typedef struct {
  const char* path;
  size_t      n; ///< Counted on, also where no more are said.
} PropFaults;

/// Whether so many were said that no more are.
bool prop_fault_is_enough(const PropFaults* faults);

/// The file and a line of it, for messages: "prop.ini:12". To be freed.
char* prop_fault_subject(const PropFaults* faults, unsigned line);

/// Say a fault in a line.
void prop_fault(PropFaults* faults, unsigned line, const char* format, ...)
  TEXT_FORMAT(3, 4);

/// Say faults that were found before.
void prop_fault_all(PropFaults* faults, const VwFaults* found);

/// Say that there are more, where there are. True where there was none at all.
bool prop_fault_end(const PropFaults* faults);

#endif
