#include "level.h"

#include "units.h"

// Room for what a board's converter adds between frames (common practice).
#define HIGHEST_DBFS (-1.0)

double
vw_level_gain_db(double peak) {
  return HIGHEST_DBFS - vw_db_of_power(peak * peak);
}
