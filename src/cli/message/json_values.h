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

void json_set_number(json_t* object, const char* name, double value);

void json_set_count(json_t* object, const char* name, uint64_t n);

void json_set_text(json_t* object, const char* name, const char* text);

#endif
