/// @file
/// What is told, as JSON, of folders proven, of packs delivered, and of boards.
#ifndef VW_CLI_CARD_H
#define VW_CLI_CARD_H

#include "board/board.h"
#include "card/card.h"

#include "base/status.h"
#include "card/card.h"

#include <stdio.h>

/// What became of a check.
typedef struct {
  const char*       path;
  const VwBoard*    board;
  const VwFindings* findings; ///< NULL where it failed.
  VwStatus          status;
} CheckReport;

/// Print it as one line. False without memory.
bool report_check_json(const CheckReport* report, FILE* out);

/// What became of a delivery.
typedef struct {
  const char*       from;
  const char*       to;
  const VwDelivery* delivery; ///< All zero but for `at` where it failed early.
  VwStatus          status;
  bool              dry_run;
  bool              verified; ///< All was read back and is the same.
} DeliveryReport;

/// Print it as one line. False without memory.
bool report_delivery_json(const DeliveryReport* report, FILE* out);

/// A board, and where it is from.
typedef struct {
  const VwBoard* board;
  const char*    path;       ///< Its file; NULL: it is built in.
  bool           is_default; ///< It counts where none is named.
} BoardReport;

/// Print it as one line. False without memory.
bool report_boards_json(const BoardReport* report, FILE* out);

#endif
