#include "support/made.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define PI 3.141592653589793

VwFamilyOptions
made_options(void) {
  VwFamilyOptions options = vw_family_defaults();
  options.format.encoding = VW_ENCODING_FLOAT;
  // What is laid down is compared frame by frame: nothing is limited.
  options.level.limiting_max_db = 0.0;
  return options;
}

bool
made_new(const VwSound* raw, const VwFamilyOptions* options, Made* made) {
  memset(made, 0, sizeof(*made));
  const VwFindOptions find = vw_find_defaults();
  VwStatus            st = vw_take_prepare(raw, &made->take);
  if (!st) {
    st = vw_find(&made->take, &find, &made->facts);
    // Of what sounds on a loop would be joined; see test_join.
    made->facts.kind = VW_KIND_SHOT;
  }
  if (!st) {
    st = vw_family_make(&made->take, &made->facts, 1, options, &made->family);
  }
  if (st) {
    fprintf(stderr, "  FAILED to make a family: status %d\n", (int)st);
    vw_take_clear(&made->take);
  }
  return !st;
}

void
made_clear(Made* made) {
  vw_take_clear(&made->take);
  vw_family_clear(&made->family);
}

const VwPiece*
made_piece(const VwFamily* family, VwPart part) {
  for (size_t i = 0; i < family->n_pieces; ++i) {
    if (family->pieces[i].part == part) {
      return &family->pieces[i];
    }
  }
  return NULL;
}

static VwSound
new_sound(const VwSound* like, size_t n_frames) {
  VwSound sound = {NULL, 0, 0, 0};
  if (vw_sound_init(&sound, n_frames, like->n_channels, like->rate_hz)) {
    abort();
  }
  return sound;
}

// Gain of a frame that lies `since` frames after the start of the next shot.
static double
choke_gain(size_t since, size_t n_fade) {
  return since >= n_fade ? 0.0
                         : 0.5 + 0.5 * cos(PI * (double)since / (double)n_fade);
}

// Shot i lies at round(i L / N), halves upwards.
static size_t
start_of(const VwPlan* plan, size_t index) {
  const size_t n = plan->shots;
  return (2 * index * plan->n_frames + n) / (2 * n);
}

// Where shot `index` of a burst has ended, its choke included.
static size_t
end_of(const VwFamily* family, size_t index, bool last) {
  const VwSound* const shot = &family->shots[index % family->plan.shots];
  const size_t         end = start_of(&family->plan, index) + shot->n_frames;
  if (family->tail != VW_TAIL_CHOKE || last) {
    return end;
  }
  const size_t choked =
    start_of(&family->plan, index + 1) + (size_t)lround(0.005 * shot->rate_hz);
  return choked < end ? choked : end;
}

// Add shot `index` of a burst to the sum.
static void
lay_down(const VwFamily* family, size_t index, bool last, double* sum) {
  const VwSound* const shot = &family->shots[index % family->plan.shots];
  const size_t         start = start_of(&family->plan, index);
  const size_t         next = start_of(&family->plan, index + 1);
  const size_t         n_fade = (size_t)lround(0.005 * shot->rate_hz);
  const bool           choked = family->tail == VW_TAIL_CHOKE && !last;
  const size_t         end = end_of(family, index, last);
  for (size_t i = 0; start + i < end; ++i) {
    const double gain =
      choked && start + i >= next ? choke_gain(start + i - next, n_fade) : 1.0;
    for (unsigned channel = 0; channel < shot->n_channels; ++channel) {
      sum[(start + i) * shot->n_channels + channel] +=
        gain * (double)shot->values[i * shot->n_channels + channel];
    }
  }
}

VwSound
made_laid_down(const VwFamily* family, size_t n_shots) {
  size_t n_frames = 0;
  for (size_t i = 0; i < n_shots; ++i) {
    const size_t end = end_of(family, i, i + 1 == n_shots);
    n_frames = end > n_frames ? end : n_frames;
  }
  VwSound       burst = new_sound(&family->shots[0], n_frames);
  const size_t  n_values = n_frames * burst.n_channels;
  double* const sum = calloc(n_values, sizeof(double));
  if (!sum) {
    abort();
  }
  for (size_t i = 0; i < n_shots; ++i) {
    lay_down(family, i, i + 1 == n_shots, sum);
  }
  for (size_t i = 0; i < n_values; ++i) {
    burst.values[i] = (float)sum[i];
  }
  free(sum);
  return burst;
}

static void
append(VwSound* joined, size_t* at, const VwSound* sound) {
  memcpy(joined->values + *at * joined->n_channels,
         sound->values,
         sound->n_frames * sound->n_channels * sizeof(float));
  *at += sound->n_frames;
}

VwSound
made_joined(const VwFamily* family, size_t n_loops) {
  const VwSound* const run_in = &made_piece(family, VW_PART_RUN_IN)->sound;
  const VwSound* const loop = &made_piece(family, VW_PART_LOOP)->sound;
  const VwSound* const ring_out = &made_piece(family, VW_PART_RING_OUT)->sound;
  VwSound              joined = new_sound(
    loop, run_in->n_frames + n_loops * loop->n_frames + ring_out->n_frames);
  size_t at = 0;
  append(&joined, &at, run_in);
  for (size_t i = 0; i < n_loops; ++i) {
    append(&joined, &at, loop);
  }
  append(&joined, &at, ring_out);
  return joined;
}
