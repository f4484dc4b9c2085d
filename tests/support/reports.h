/// @file
/// What the program prints as JSON.
#ifndef TESTS_REPORTS_H
#define TESTS_REPORTS_H

#include <jansson.h>
#include <stddef.h>

/// The object in line `index` of a text, or NULL.
json_t* parse_line(const char* lines, size_t index);

/// Run a line that ends with this status, and parse the first object that it
/// prints.
json_t* run_json(const char* line, int status);

/// The value at a path of keys, as in "loop.frames"; NULL where there is none.
json_t* value_at(const json_t* object, const char* path);

/// The number at a path, or NaN.
double number_at(const json_t* object, const char* path);

/// A rate as it is printed: to seven digits.
double as_printed(double number);

#endif
