// All that is said wherever a result is not as good as it could be.

#include "cli/report/warnings.h"

#include <stdlib.h>

/// Find out what there is to say of some kinds.
static void
find(Report*            report,
     const Facts*       of,
     const WarningKind* kinds,
     size_t             n_kinds) {
  for (size_t i = 0; i < n_kinds; ++i) {
    char* const text = kinds[i].find(of);
    if (text) {
      report->warnings[report->n_warnings++] =
        (Warning){of->input ? of->input->path : NULL, text, kinds[i].brief};
    }
  }
}

/// What can be used of a take; NULL where none was made.
static const VwTakeUse*
use_of(const Report* report, size_t index) {
  return report->family ? &report->family->uses[index] : NULL;
}

bool
report_warn(Report* report) {
  const VwFamily* const    family = report->family;
  size_t                   n_take = 0;
  size_t                   n_family = 0;
  size_t                   n_loop = 0;
  const WarningKind* const take = warnings_of_take(&n_take);
  const WarningKind* const level = warnings_of_family(&n_family);
  const WarningKind* const loop = warnings_of_loop(&n_loop);
  // Of a sound of a pack the first take alone is known.
  const size_t n_inputs = report->packed ? 1U : report->n_inputs;
  report->warnings =
    calloc(n_inputs * n_take + n_family + n_loop, sizeof(Warning));
  if (!report->warnings) {
    return false;
  }
  for (size_t i = 0; i < n_inputs; ++i) {
    const Input* const input = &report->inputs[i];
    const Facts of = {report, input, &input->facts, use_of(report, i), family};
    find(report, &of, take, n_take);
  }
  const Facts of = {report, NULL, NULL, NULL, family};
  if (family) {
    find(report, &of, level, n_family);
  }
  if (family && family->plan.shots) {
    find(report, &of, loop, n_loop);
  }
  return true;
}

void
report_clear(Report* report) {
  for (size_t i = 0; i < report->n_warnings; ++i) {
    free(report->warnings[i].text);
  }
  free(report->warnings);
  free(report->message);
  *report = (Report){0};
}
