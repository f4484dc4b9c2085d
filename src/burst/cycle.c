#include "burst/cycle.h"

#include "base/random.h"
#include "burst/late.h"
#include "burst/plan.h"
#include "burst/tighten.h"
#include "burst/turns.h"
#include "burst/vary.h"
#include "signal/sound.h"

#include <math.h>
#include <stdlib.h>

/// What a cycle is made from, and where it goes.
typedef struct {
  const VwSound*         alone;
  const VwFamilyOptions* options;
  VwFamily*              family;
  size_t*                bend_from;
} Work;

/// The shot of each take as the burst has it, before variation.
static VwStatus
start_late(const Work* work, VwSound* started, size_t* crests) {
  VwFamily* const family = work->family;
  const bool      left_alone = isnan(work->options->valley_db);
  VwStatus        st = VW_OK;
  for (size_t i = 0; !st && i < family->n_takes; ++i) {
    crests[i] = vw_late_crest(&family->uses[i], &family->plan);
    family->uses[i].crest_frame = crests[i];
    st = left_alone ? vw_sound_copy(&work->alone[i], &started[i])
                    : vw_late_start(&work->alone[i],
                                    vw_plan_period_s(&family->plan),
                                    &crests[i],
                                    &family->uses[i].late_start_ms,
                                    &started[i]);
  }
  return st;
}

static VwStatus
vary_shots(const Work* work, const VwSound* started, const size_t* crests) {
  VwFamily* const family = work->family;
  const unsigned  n_shots = family->plan.shots;
  VwRandom        random = {work->options->seed};
  VwVariant*      variants = calloc(n_shots, sizeof(VwVariant));
  VwStatus        st = variants ? VW_OK : VW_NO_MEMORY;
  if (!st) {
    vw_turns_make(family->n_takes, n_shots, &random, family->turns);
    vw_vary_draw(work->options, n_shots, &random, variants);
  }
  for (unsigned i = 0; !st && i < n_shots; ++i) {
    const size_t take = family->turns[i];
    st = vw_vary(&started[take], &variants[i], &family->shots[i]);
    work->bend_from[i] =
      crests[take] + vw_tighten_margin(family->format.rate_hz);
  }
  free(variants);
  return st;
}

VwStatus
vw_cycle_make(const VwSound*         alone,
              const VwFamilyOptions* options,
              VwFamily*              family,
              size_t*                bend_from) {
  const Work     work = {alone, options, family, bend_from};
  VwSound* const started = calloc(family->n_takes, sizeof(VwSound));
  size_t* const  crests = calloc(family->n_takes, sizeof(size_t));
  VwStatus       st = started && crests ? VW_OK : VW_NO_MEMORY;
  st = st ? st : start_late(&work, started, crests);
  st = st ? st : vary_shots(&work, started, crests);
  for (size_t i = 0; started && i < family->n_takes; ++i) {
    vw_sound_clear(&started[i]);
  }
  free(started);
  free(crests);
  return st;
}
