#include "cli/textfile/prop_fault.h"

#include "base/status.h"
#include "cli/message/say.h"

#include <stdlib.h>

// More at once help nobody.
#define SAID_MOST 20U

bool
prop_fault_is_enough(const PropFaults* faults) {
  return faults->n >= SAID_MOST;
}

char*
prop_fault_subject(const PropFaults* faults, unsigned line) {
  return line ? text_format("%s:%u", faults->path, line)
              : text_format("%s", faults->path);
}

void
prop_fault(PropFaults* faults, unsigned line, const char* format, ...) {
  const bool enough = prop_fault_is_enough(faults);
  ++faults->n;
  if (enough) {
    return;
  }
  va_list arguments;
  va_start(arguments, format);
  char* const subject = prop_fault_subject(faults, line);
  char* const fault = text_format_list(format, arguments);
  say(subject ? subject : faults->path,
      "%s",
      fault ? fault : "not enough memory");
  free(subject);
  free(fault);
  va_end(arguments);
}

void
prop_fault_all(PropFaults* faults, const VwFaults* found) {
  for (size_t i = 0; i < found->n_faults; ++i) {
    const VwFault* const fault = &found->faults[i];
    prop_fault(faults,
               fault->line,
               "%s%s%s",
               fault->what,
               *fault->remedy ? ": " : "",
               fault->remedy);
  }
}

bool
prop_fault_end(const PropFaults* faults) {
  if (faults->n > SAID_MOST) {
    say(faults->path, "more faults are not listed: mend these first");
  }
  return !faults->n;
}
