#include "cli/packing/pack_steps.h"

#include "cli/message/progress.h"
#include "pack/pack.h"

#include <stdlib.h>

/// One step of a sound.
typedef VwStatus (*Step)(VwPack* pack, size_t index);

/// Take a step with each of some sounds. What becomes of one is its status.
static void
take(const PackSteps* steps,
     Step             step,
     const size_t*    indices,
     Progress*        progress) {
  const size_t n = progress->n_steps;
#pragma omp parallel for schedule(dynamic)                                     \
  num_threads(threads_count(steps->settings->jobs))
  for (size_t i = 0; i < n; ++i) {
    (void)step(steps->pack, indices[i]);
#pragma omp critical
    progress_step(progress, steps->pack->sounds[indices[i]].wish->name);
  }
  progress_end(progress);
}

/// Take a step with each sound that is wanted.
static VwStatus
take_all(const PackSteps* steps, Step step, Progress* progress) {
  const VwPack* const pack = steps->pack;
  const bool          measure = step == vw_pack_measure;
  size_t* const       indices = calloc(pack->n_sounds + 1U, sizeof(size_t));
  size_t              n = 0;
  if (!indices) {
    return VW_NO_MEMORY;
  }
  for (size_t i = 0; i < pack->n_sounds; ++i) {
    const VwPackSound* const sound = &pack->sounds[i];
    if (measure ? !sound->measured : sound->due) {
      indices[n++] = i;
    }
  }
  progress_begin(progress, measure ? "measuring" : "making", n);
  take(steps, step, indices, progress);
  free(indices);
  return VW_OK;
}

VwStatus
pack_steps_measure(const PackSteps* steps) {
  Progress progress = {.silent = steps->settings->quiet};
  return take_all(steps, vw_pack_measure, &progress);
}

VwStatus
pack_steps_render(const PackSteps* steps) {
  Progress progress = {.silent = steps->settings->quiet, .lines = steps->write};
  return take_all(steps, vw_pack_render, &progress);
}
