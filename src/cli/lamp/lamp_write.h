/// @file
/// The files that are written beside a report on lamps.
#ifndef VW_CLI_LAMP_WRITE_H
#define VW_CLI_LAMP_WRITE_H

#include "cli/lamp/lamp_report.h"

/// What to write.
typedef struct {
  const Settings* settings;
  const char*     subject;
  char*           header;  ///< Text of the C header; NULL where memory failed,
                           ///< or none is wanted. Owned by the caller.
  const LampReport* drawn; ///< Whose circuit is drawn.
} LampWrite;

/// Draw and write what was asked for. False, and said, where that failed.
bool lamp_write(const LampWrite* write);

#endif
