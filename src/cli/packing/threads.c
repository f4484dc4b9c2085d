#include "cli/packing/threads.h"

#include <omp.h>

int
threads_count(const Settings* settings) {
  return settings->jobs > 0.0 ? (int)settings->jobs : omp_get_max_threads();
}
