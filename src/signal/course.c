#include "base/units.h"
#include "signal/curve.h"
#include "signal/signal.h"

#include "volleyweave/volleyweave.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

VwStatus
vw_course_take(const VwSound* sound, VwCourse* course) {
  assert(sound && course);
  VwCurve curve = {0};
  if (!sound->n_frames) {
    return VW_NO_FRAMES;
  }
  const VwStatus st = vw_curve_take(sound, &curve);
  if (st) {
    return st;
  }
  for (size_t i = 0; i < curve.n_steps; ++i) {
    const double power = curve.level[i];
    curve.level[i] = power > 0.0 ? vw_db_of_power(power) : NAN;
  }
  *course = (VwCourse){curve.level, curve.n_steps, curve.step_s};
  curve.level = NULL;
  vw_curve_clear(&curve);
  return VW_OK;
}

void
vw_course_clear(VwCourse* course) {
  if (course) {
    free(course->level_dbfs);
    memset(course, 0, sizeof(*course));
  }
}
