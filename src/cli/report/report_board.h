/// @file
/// The part of the report that is on the board.
#ifndef VW_CLI_REPORT_BOARD_H
#define VW_CLI_REPORT_BOARD_H

#include "board/board.h"
#include "cli/report/report.h"

/// How long a loop or burst may go on after the release, to the end of what the
/// board plays; NaN where it stops, or where nothing is known of it.
double report_overrun_ms(const Report* report);

/// "whole-file", "loop-points", "three-files", "nothing". Static.
const char* report_repeat_word(VwRepeat repeat);

/// Print what the board does to a loop.
void report_board(const Report* report, FILE* out);

#endif
