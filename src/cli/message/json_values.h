/// @file
/// Values as reports have them in JSON.
#ifndef VW_CLI_JSON_VALUES_H
#define VW_CLI_JSON_VALUES_H

#include <volleyweave/volleyweave.h>

#include <jansson.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>

/// A number, or null where it does not exist.
json_t* json_of_number(double value);

json_t* json_of_count(uint64_t n);

/// Text, or null where there is none; bytes that are no UTF-8 are made safe.
json_t* json_of_text(const char* text);

/// A failure with its message, or null where there is none.
json_t* json_of_error(VwStatus status, const char* message);

/// A failure with the message that goes with it, or null where there is none.
json_t* json_of_status(VwStatus status);

void json_set_number(json_t* object, const char* name, double value);

void json_set_count(json_t* object, const char* name, uint64_t n);

void json_set_text(json_t* object, const char* name, const char* text);

/// A lamp track, or null where there is none.
json_t* json_of_track(const VwLampTrack* track);

/// What is said of a sound with a lamp that flashes so often, or of one without
/// (0): "flash", where it is fast, and "hearing".
json_t* json_of_cautions(double pulse_hz);

/// The same of a prop: "look_alike" too.
json_t* json_of_prop_cautions(double pulse_hz);

/// Print an object in a line and free it. False where that fails.
bool json_print(json_t* object, FILE* out);

#endif
