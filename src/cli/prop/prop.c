#include "cli/prop/prop.h"

#include "cli/prop/prop_keys.h"
#include "pack/pack.h"

#include <stdlib.h>

const char*
prop_make_word(VwMake make) {
  static const char* const words[] = {[VW_MAKE_SHOT] = "shot",
                                      [VW_MAKE_LOOP] = "loop",
                                      [VW_MAKE_BURST] = "burst",
                                      [VW_MAKE_WHOLE] = "whole"};
  return words[make];
}

static void
clear_sound(PropSound* sound) {
  for (size_t i = 0; i < sound->n_takes; ++i) {
    free(sound->takes[i]);
  }
  free(sound->takes);
  free(sound->section);
  prop_keys_clear(&sound->keys);
}

void
prop_clear(Prop* prop) {
  if (!prop) {
    return;
  }
  for (size_t i = 0; i < prop->n_sounds; ++i) {
    clear_sound(&prop->sounds[i]);
  }
  for (size_t i = 0; i < prop->n_ons; ++i) {
    free(prop->ons[i].sound);
    free(prop->ons[i].board);
    prop_keys_clear(&prop->ons[i].keys);
  }
  for (size_t i = 0; i < prop->n_boards; ++i) {
    free(prop->boards[i]);
  }
  prop_keys_clear(&prop->keys);
  free(prop->sounds);
  free(prop->ons);
  free(prop->boards);
  free(prop->name);
  free(prop->path);
  *prop = (Prop){0};
}
