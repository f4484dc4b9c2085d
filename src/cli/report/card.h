/// @file
/// What is told, as JSON, of folders proven, of packs delivered, and of boards.
#ifndef VW_CLI_CARD_H
#define VW_CLI_CARD_H

#include "board/board.h"
#include "card/card.h"

#include "base/status.h"
#include "card/loop.h"
#include "cli/options/settings.h"

#include <stdio.h>

/// What the settings say of a loop that is judged by itself, or the list in its
/// folder of one that sounds on.
VwLoopAsked loop_asked(const Settings* settings, const char* path);

/// A loop that was judged by itself.
typedef struct {
  const VwSound*     sound; ///< Of the whole file.
  const VwLoopFacts* facts;
} LoopReport;

/// Print its figures for a person.
void report_loop_text(const char* path, const LoopReport* loop, FILE* out);

/// A number of bytes as a person reads it: "22.1 kB".
const char* report_size(char text[24], uint64_t n_bytes);

/// How many bytes files have, and how many they take on a card.
typedef char SizeText[96];
void         report_card_size(SizeText text,
                              uint64_t n_bytes,
                              uint64_t n_bytes_on_card,
                              uint64_t cluster_bytes);

/// What became of a check.
typedef struct {
  const char*       path;
  const VwBoard*    board;    ///< NULL: a loop is judged by itself.
  LoopReport        loop;     ///< All zero of other checks, and if that failed.
  const VwFindings* findings; ///< NULL where it failed.
  VwStatus          status;
} CheckReport;

/// Print it as one line. False without memory.
bool report_check_json(const CheckReport* report, FILE* out);

/// What became of a loop that was to be mended.
typedef struct {
  CheckReport      before;
  CheckReport      after;   ///< Of the mended one; nothing if there is none.
  const VwMending* mending; ///< NULL if it failed.
  const char*      written; ///< Where it is; NULL: nothing was to be written.
  size_t           n_bytes;
} MendReport;

/// Print it as one line. False without memory.
bool report_mend_json(const MendReport* report, FILE* out);

/// Print what was mended for a person.
void report_mend_text(const MendReport* report, FILE* out);

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
  bool           is_default; ///< It is the default board.
} BoardReport;

/// Print it as one line. False without memory.
bool report_boards_json(const BoardReport* report, FILE* out);

#endif
