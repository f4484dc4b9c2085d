/// @file
/// What fuzz targets share: files of the bytes, and commands that read them.
///
/// A target is one function, called again and again with bytes of any kind. It
/// may refuse them, but never crash, leak, hang or ask for much memory.
/// `tools/fuzz` calls it with bytes that libFuzzer makes up, every run of the
/// tests with those of its folder in `corpus`.
#ifndef TESTS_FUZZ_H
#define TESTS_FUZZ_H

#include "cli/options/settings.h"

#include <stddef.h>
#include <stdint.h>

/// The target, named as libFuzzer calls it. Returns 0.
int LLVMFuzzerTestOneInput(const uint8_t* data, size_t n_bytes);

/// Write a file into the current folder, which the first call makes: it is
/// this process's own, and goes with it.
void fuzz_put(const char* name, const void* data, size_t n_bytes);

/// A command line, and what runs it; NULL: it is only read.
typedef struct {
  const char* line; ///< Words behind the program's name, with single spaces.
  int (*run)(const CommandName* command, const Settings* settings);
} FuzzLine;

/// Read words, ended by NULL, as the program does, and run what they ask for.
void fuzz_words(char* const* words, const FuzzLine* as);

/// Run a line.
void fuzz_line(const FuzzLine* line);

#endif
