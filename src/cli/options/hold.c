#include "cli/options/hold.h"

#include "cli/message/say.h"
#include "cli/options/units.h"

#include <stdlib.h>
#include <string.h>

#define EXAMPLES "1.2s, or 1.2s,300ms,0.8s: held, released, held"
#define LONGEST_S 600.0

/// Read one of the times.
static bool
read_time(const char* shown, const char* text, double* seconds) {
  static const Unit     units[] = {{"s", 1.0, 1.0, false},
                                   {"ms", 1.0, 1000.0, false},
                                   {"min", 60.0, 1.0, false}};
  static const Quantity time = {
    "seconds", EXAMPLES, 0.001, 60.0, units, 3U, false};
  const size_t n = strlen(text);
  if (n && strspn(text, "+-.0123456789") == n) {
    say(shown, "%s has no unit: write %ss or %sms", text, text, text);
    return false;
  }
  return units_read(&time, shown, text, seconds);
}

static bool
add_time(Settings* settings, const char* shown, const char* text) {
  double seconds = 0.0;
  double sum_s = 0.0;
  if (settings->rehearse.n_hold == HOLDS_MOST) {
    say(shown, "more than %u times: give fewer", HOLDS_MOST);
    return false;
  }
  if (!read_time(shown, text, &seconds)) {
    return false;
  }
  settings->rehearse.hold_s[settings->rehearse.n_hold++] = seconds;
  for (size_t i = 0; i < settings->rehearse.n_hold; ++i) {
    sum_s += settings->rehearse.hold_s[i];
  }
  if (sum_s > LONGEST_S) {
    say(shown, "more than %g s in all: hold it for shorter", LONGEST_S);
    return false;
  }
  return true;
}

bool
hold_set(Settings* settings, const char* shown, const char* value) {
  char* const text = text_format("%s", value);
  bool        good = text != NULL;
  for (char* at = text; good && at;) {
    char* const comma = strchr(at, ',');
    if (comma) {
      *comma = '\0';
    }
    good = add_time(settings, shown, at);
    at = comma ? comma + 1 : NULL;
  }
  free(text);
  return good;
}
