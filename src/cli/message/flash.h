/// @file
/// What is told of a lamp's flashes wherever they are reported.
#ifndef VW_CLI_FLASH_H
#define VW_CLI_FLASH_H

#include <volleyweave/volleyweave.h>

/// Whether so many flashes a second can provoke seizures.
bool flash_is_fast(double pulse_hz);

/// Why a lamp is on for so long, for a person. Static.
const char* flash_reason(VwOnReason reason);

/// The same as a word for programs. Static.
const char* flash_reason_key(VwOnReason reason);

#endif
