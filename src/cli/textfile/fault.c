#include "cli/message/message.h"
#include "cli/textfile/textfile.h"

#include <stdlib.h>

// More at once help nobody.
#define SAID_MOST 20U

bool
fault_is_enough(const Faults* faults) {
  return faults->n >= SAID_MOST;
}

char*
fault_subject(const Faults* faults, unsigned line) {
  return line ? text_format("%s:%u", faults->path, line)
              : text_format("%s", faults->path);
}

void
fault_say(Faults* faults, unsigned line, const char* format, ...) {
  const bool enough = fault_is_enough(faults);
  ++faults->n;
  if (enough) {
    return;
  }
  va_list arguments;
  va_start(arguments, format);
  char* const subject = fault_subject(faults, line);
  char* const fault = text_format_list(format, arguments);
  say(subject ? subject : faults->path,
      "%s",
      fault ? fault : "not enough memory");
  free(subject);
  free(fault);
  va_end(arguments);
}

bool
fault_end(const Faults* faults) {
  if (faults->n > SAID_MOST) {
    say(faults->path, "more faults are not listed: mend these first");
  }
  return !faults->n;
}
