/// @file
/// Files of text, written by the library.
#ifndef TESTS_OUTPUTS_H
#define TESTS_OUTPUTS_H

#include "volleyweave/volleyweave.h"

/// An index that no output has.
#define NOWHERE ((size_t)99)

/// An output of text; it owns nothing.
VwOutput text_output(const char* path, const char* text);

/// Write one file of text; options may be NULL. Asserts that the output at
/// fault is named where one is.
VwStatus write_one(const char*           path,
                   const char*           text,
                   const VwWriteOptions* options);

#endif // TESTS_OUTPUTS_H
