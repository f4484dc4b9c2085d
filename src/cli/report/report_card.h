/// @file
/// What is reported of folders proven and of packs delivered, as JSON.
#ifndef VW_CLI_REPORT_CARD_H
#define VW_CLI_REPORT_CARD_H

#include "board/board.h"
#include "card/card.h"

#include <volleyweave/volleyweave.h>

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

#endif
