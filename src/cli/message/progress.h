/// @file
/// How far a long job is: one line that changes on a terminal, else a line for
/// each step.
#ifndef VW_CLI_PROGRESS_H
#define VW_CLI_PROGRESS_H

#include <stdbool.h>
#include <stddef.h>

/// How many steps to work on at a time: as many as are asked for, or one for
/// each core where that is 0.
int threads_count(double jobs);

/// A job of equal steps.
typedef struct {
  const char* what; ///< What is done: "measuring".
  size_t      n_steps;
  size_t      n_done;
  size_t      n_columns; ///< Of the terminal; 0: nobody watches.
  bool        silent;    ///< Nothing is shown.
  bool        lines;     ///< Steps are worth a line where nobody watches.
  double      start_s;
  size_t      n_shown; ///< Columns of the line shown last.
} Progress;

/// Begin a job of `n_steps` steps. `silent` and `lines` stay as they are.
void progress_begin(Progress* progress, const char* what, size_t n_steps);

/// Count a step as done, and show it by a name. One thread at a time.
void progress_step(Progress* progress, const char* name);

/// Wipe the line away.
void progress_end(Progress* progress);

#endif
