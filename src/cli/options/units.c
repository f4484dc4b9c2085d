#include "cli/message/message.h"
#include "cli/options/options.h"

#include <ctype.h>
#include <errno.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

// More digits than any sensible number has.
#define NUMBER_CHARACTERS 64U

const Unit units_none[1] = {{"", 1.0, 1.0, false}};

const Unit units_frames[2] = {{"", 1.0, 1.0, false},
                              {"frames", 1.0, 1.0, false}};

const Unit units_db[3] = {{"", 1.0, 1.0, false},
                          {"dB", 1.0, 1.0, false},
                          {"db", 1.0, 1.0, false}};

const Unit units_ms[3] = {{"", 1.0, 1.0, false},
                          {"ms", 1.0, 1.0, false},
                          {"s", 1000.0, 1.0, false}};

const Unit units_seconds[4] = {{"", 1.0, 1.0, false},
                               {"s", 1.0, 1.0, false},
                               {"ms", 1.0, 1000.0, false},
                               {"min", 60.0, 1.0, false}};

static size_t
digits(const char* text) {
  size_t n = 0;
  while (isdigit((unsigned char)text[n])) {
    ++n;
  }
  return n;
}

/// Length of the exponent at `text`, 0 where there is none.
static size_t
exponent_length(const char* text) {
  if (*text != 'e' && *text != 'E') {
    return 0;
  }
  const size_t sign = text[1] == '+' || text[1] == '-' ? 1U : 0U;
  const size_t n = digits(text + 1 + sign);
  return n ? 1U + sign + n : 0U;
}

/// Length of the number at the start of `text`, 0 where there is none.
static size_t
number_length(const char* text) {
  size_t n = *text == '+' || *text == '-' ? 1U : 0U;
  size_t n_digits = digits(text + n);
  n += n_digits;
  if (text[n] == '.') {
    const size_t n_decimals = digits(text + n + 1U);
    n_digits += n_decimals;
    n += 1U + n_decimals;
  }
  return n_digits ? n + exponent_length(text + n) : 0U;
}

/// A comma between digits, where the number should have gone on.
static bool
refuse_comma(const char* shown, const char* text, size_t at) {
  if (text[at] != ',') {
    return false;
  }
  char* const better = text_format("%s", text);
  if (better) {
    better[at] = '.';
  }
  say(shown, "a comma in the number: write %s", better);
  free(better);
  return true;
}

/// Split text into a number and its unit. False, and said, if it is none.
static bool
split(const char*  shown,
      const char*  text,
      const char*  examples,
      double*      number,
      const char** unit) {
  char         copy[NUMBER_CHARACTERS] = "";
  const size_t n = number_length(text);
  if (n && refuse_comma(shown, text, n)) {
    return false;
  }
  if (!n || n >= NUMBER_CHARACTERS) {
    return shown[0] == '-' && !access(text, F_OK)
             ? say(shown,
                   "a file, not a number: give the number before it, as in "
                   "%.*s %s",
                   (int)strcspn(shown, " "),
                   shown,
                   examples)
             : say(shown, "not a number: write %s", examples);
  }
  memcpy(copy, text, n);
  // The program never leaves the C locale, where the point is a point.
  *number = strtod(copy, NULL);
  *unit = text + n + strspn(text + n, " ");
  return true;
}

static const Unit*
find_unit(const Quantity* quantity, const char* suffix) {
  for (size_t i = 0; i < quantity->n_units; ++i) {
    if (!strcmp(quantity->units[i].suffix, suffix)) {
      return &quantity->units[i];
    }
  }
  return NULL;
}

static double
in_own_unit(const Unit* unit, double number) {
  return unit->period ? unit->factor / number
                      : unit->factor * number / unit->divisor;
}

/// Read a number and its unit without looking at the range.
static bool
read_any(const Quantity* quantity,
         const char*     shown,
         const char*     text,
         double*         value,
         const Unit**    unit) {
  const char* suffix = NULL;
  double      number = 0.0;
  if (!split(shown, text, quantity->examples, &number, &suffix)) {
    return false;
  }
  *unit = find_unit(quantity, suffix);
  if (!*unit && strchr(suffix, '#')) {
    return say(shown,
               "a remark stands in a line of its own: write %s",
               quantity->examples);
  }
  if (!*unit && !*suffix) {
    return say(shown, "a number alone: write it as in %s", quantity->examples);
  }
  if (!*unit) {
    return say(shown,
               "\"%s\" is no unit for this: write %s",
               suffix,
               quantity->examples);
  }
  *value = in_own_unit(*unit, number);
  return true;
}

static bool
check_range(const Quantity* quantity, const char* shown, double value) {
  if (!vw_is_within(value, quantity->range)) {
    return say(shown,
               "out of range: give %.15g to %.15g%s%s",
               quantity->range.least,
               quantity->range.most,
               *quantity->unit_name ? " " : "",
               quantity->unit_name);
  }
  if (quantity->whole && value != floor(value)) {
    return say(shown,
               "not a whole number: give %s%s%.15g to %.15g",
               quantity->unit_name,
               *quantity->unit_name ? " from " : "",
               quantity->range.least,
               quantity->range.most);
  }
  return true;
}

bool
units_read(const Quantity* quantity,
           const char*     shown,
           const char*     text,
           double*         value) {
  const Unit* unit = NULL;
  double      read = 0.0;
  if (!read_any(quantity, shown, text, &read, &unit) ||
      !check_range(quantity, shown, read)) {
    return false;
  }
  *value = read;
  return true;
}

bool
units_read_count(const Quantity* quantity,
                 const char*     shown,
                 const char*     text,
                 unsigned*       n) {
  double read = 0.0;
  if (!units_read(quantity, shown, text, &read)) {
    return false;
  }
  *n = (unsigned)read;
  return true;
}

/// A bare number too high for a second: what else may have been meant.
static bool
refuse_bare(const Quantity* quantity,
            const char*     shown,
            const char*     text,
            double          number) {
  if (number <= quantity->range.most ||
      !vw_is_within(number / 60.0, quantity->range)) {
    return false;
  }
  say(shown,
      "more than %g shots per second: write %s/min for shots a minute, or "
      "%sms for a period",
      quantity->range.most,
      text,
      text);
  return true;
}

bool
units_read_fire_rate(const char* shown, const char* text, double* per_s) {
  static const Unit     units[] = {{"", 1.0, 1.0, false},
                                   {"/s", 1.0, 1.0, false},
                                   {"/sec", 1.0, 1.0, false},
                                   {"Hz", 1.0, 1.0, false},
                                   {"hz", 1.0, 1.0, false},
                                   {"/min", 1.0, 60.0, false},
                                   {"rpm", 1.0, 60.0, false},
                                   {"RPM", 1.0, 60.0, false},
                                   {"ms", 1000.0, 1.0, true}};
  static const Quantity fire_rate = {"shots per second",
                                     "9, 9/s, 9Hz, 540/min, 540rpm or 110ms",
                                     VW_RANGE_FIRE_RATE_PER_S,
                                     UNITS(units),
                                     false};
  const Unit*           unit = NULL;
  double                read = 0.0;
  if (!read_any(&fire_rate, shown, text, &read, &unit)) {
    return false;
  }
  if ((!*unit->suffix && refuse_bare(&fire_rate, shown, text, read)) ||
      !check_range(&fire_rate, shown, read)) {
    return false;
  }
  *per_s = read;
  return true;
}

bool
units_read_sample_rate(const char* shown, const char* text, unsigned* hz) {
  static const Unit     units[] = {{"", 1.0, 1.0, false},
                                   {"Hz", 1.0, 1.0, false},
                                   {"hz", 1.0, 1.0, false},
                                   {"kHz", 1000.0, 1.0, false},
                                   {"khz", 1000.0, 1.0, false},
                                   {"k", 1000.0, 1.0, false}};
  static const Quantity sample_rate = {"Hz",
                                       "22050, 22050Hz or 22.05kHz",
                                       VW_RANGE_SAMPLE_RATE_HZ,
                                       UNITS(units),
                                       true};
  const Unit*           unit = NULL;
  double                read = 0.0;
  if (!read_any(&sample_rate, shown, text, &read, &unit)) {
    return false;
  }
  if (!*unit->suffix && vw_is_within(1000.0 * read, sample_rate.range)) {
    return say(
      shown, "%s Hz is no sample rate: did you mean %skHz?", text, text);
  }
  // 22.05 kHz is a whole number of Hz, its product here need not be.
  const double whole = floor(read + 0.5);
  read = whole - read < 1e-6 && read - whole < 1e-6 ? whole : read;
  if (!check_range(&sample_rate, shown, read)) {
    return false;
  }
  *hz = (unsigned)read;
  return true;
}

bool
units_read_seed(const char* shown, const char* text, uint64_t* seed) {
  const size_t n = digits(text);
  errno = 0;
  const unsigned long long value = n ? strtoull(text, NULL, 10) : 0U;
  if (!n || text[n] || errno) {
    return say(shown,
               "a seed is a whole number, 0 to 18446744073709551615: write for "
               "example 7");
  }
  *seed = value;
  return true;
}

/* Words */

/// A list of choices for a message: "a, b or c".
static void
list_choices(const Choice* choices, char list[128]) {
  list[0] = '\0';
  for (const Choice* choice = choices; choice->word; ++choice) {
    const bool last = !choice[1].word;
    strcat(list, choice == choices ? "" : last ? " or " : ", ");
    strcat(list, choice->word);
  }
}

bool
choose(const Choice* choices, const char* shown, const char* word, int* value) {
  const Choice* near = NULL;
  for (const Choice* choice = choices; choice->word; ++choice) {
    if (!strcmp(choice->word, word)) {
      *value = choice->value;
      return true;
    }
    near = suggest_is_near(word, choice->word) ? choice : near;
  }
  // One digit for another is no slip of the finger.
  if (near && isalpha((unsigned char)*word)) {
    say(shown, "no such word: did you mean %s?", near->word);
  } else {
    char list[128];
    list_choices(choices, list);
    say(shown, "not a value it takes: give %s", list);
  }
  return false;
}
