#include "cli/split.h"

#include "cli/message/message.h"
#include "store/store.h"

#include <stdlib.h>

VwStatus
split_find(const Input* input, const Settings* settings, VwShots* split) {
  const VwShotsOf of = {
    &input->take, &input->events, &input->facts, input->clipped};
  const VwFindOptions finding = vw_find_wish(&settings->family);
  const VwStatus      st = vw_shots_find(&of, &finding, split);
  if (!st) {
    vw_shots_keep(split, settings->keep);
  }
  return st;
}

VwStatus
turns_find(const Input* input, const Settings* settings, VwShots* turns) {
  const VwShotsOf of = {
    &input->take, &input->events, &input->facts, input->clipped};
  return vw_turns_find(&of, &settings->family, turns);
}

/* Their names */

/// Digits of the greatest number of a shot: names then lie in order.
static int
digits_of(size_t n) {
  int digits = 1;
  for (; n >= 10U; n /= 10U) {
    ++digits;
  }
  return digits;
}

bool
split_names_make(const Settings* settings,
                 size_t          take,
                 const VwShots*  split,
                 Settings*       names) {
  char* const sound = path_sound(settings, take);
  *names = *settings;
  names->sound_name = NULL;
  names->n_takes = split->n_written;
  names->takes = calloc(split->n_written + 1U, sizeof(char*));
  bool good = sound && names->takes;
  for (size_t i = 0; good && i < split->n_written; ++i) {
    // The ending is left out of a name, as that of a take is.
    char* const name = text_format(
      "%s-%0*zu.wav", sound, digits_of(split->n), split->written[i] + 1U);
    names->takes[i] = name;
    good = name != NULL;
  }
  free(sound);
  return good;
}

void
split_names_clear(Settings* names) {
  for (size_t i = 0; names->takes && i < names->n_takes; ++i) {
    free((void*)names->takes[i]);
  }
  free(names->takes);
  names->takes = NULL;
}
