/// @file
/// Numbers with units, read the same whatever the locale.
///
/// What cannot be read is said on standard error, with `shown`, the option and
/// its value as given, for a subject.
#ifndef VW_CLI_UNITS_H
#define VW_CLI_UNITS_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/// A unit that may follow a number.
typedef struct {
  const char* suffix;  ///< As written; an empty one stands for no unit.
  double      factor;  ///< The number is multiplied by this,
  double      divisor; ///< and divided by this, to be in the own unit.
  bool        period;  ///< A time, not a rate: `factor` divided by the number.
} Unit;

/// What an option measures.
typedef struct {
  const char* unit_name; ///< Its own unit, for messages: "dB".
  const char* examples;  ///< How it may be written: "12 or 12dB".
  double      least;     ///< In its own unit.
  double      most;      ///< In its own unit.
  const Unit* units;     ///< The units it takes.
  size_t      n_units;   ///< How many.
  bool        whole;     ///< Only whole numbers.
} Quantity;

/// Units and how many, as quantities name them.
#define UNITS(units) (units), sizeof(units) / sizeof((units)[0])

extern const Unit units_none[1];
extern const Unit units_frames[2];
extern const Unit units_db[3];
extern const Unit units_ms[3];      ///< In milliseconds.
extern const Unit units_seconds[3]; ///< In seconds.

/// Read a number with its unit. False where it is none or out of range.
bool units_read(const Quantity* quantity,
                const char*     shown,
                const char*     text,
                double*         value);

/// Read a whole number of at most 4294967295.
bool units_read_count(const Quantity* quantity,
                      const char*     shown,
                      const char*     text,
                      unsigned*       n);

/// Read a fire rate in shots per second.
bool units_read_fire_rate(const char* shown, const char* text, double* per_s);

/// Read a sample rate in Hz.
bool units_read_sample_rate(const char* shown, const char* text, unsigned* hz);

/// Read a whole number from 0 to 18446744073709551615.
bool units_read_seed(const char* shown, const char* text, uint64_t* seed);

#endif
