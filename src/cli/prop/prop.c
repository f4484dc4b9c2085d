#include "cli/prop/prop.h"

#include "cli/message/text.h"
#include "cli/prop/prop_keys.h"
#include "pack/pack.h"

#include <stdlib.h>

PropSound*
prop_add(Prop* prop, const char* section, size_t at_name, unsigned line) {
  const size_t n = prop->n_sounds;
  // It grows by doubling.
  PropSound* const sounds =
    n & (n - 1U) ? prop->sounds
                 : realloc(prop->sounds, (n ? 2U * n : 1U) * sizeof(PropSound));
  char* const copy = text_format("%s", section);
  prop->sounds = sounds ? sounds : prop->sounds;
  if (!sounds || !copy) {
    free(copy);
    return NULL;
  }
  sounds[n] =
    (PropSound){.section = copy, .name = copy + at_name, .line = line};
  ++prop->n_sounds;
  return &sounds[n];
}

bool
prop_add_take(PropSound* sound, char* take, unsigned line) {
  char** const more =
    realloc(sound->takes, (sound->n_takes + 1U) * sizeof(char*));
  sound->takes = more ? more : sound->takes;
  if (!more || !take || sound->n_takes == PROP_TAKES_MOST) {
    free(take);
    return false;
  }
  sound->lines[sound->n_takes] = line;
  sound->takes[sound->n_takes++] = take;
  return true;
}

bool
prop_add_board(Prop* prop, const char* name, size_t n_name) {
  char** const more =
    realloc(prop->boards, (prop->n_boards + 1U) * sizeof(char*));
  char* const copy = text_format("%.*s", (int)n_name, name);
  prop->boards = more ? more : prop->boards;
  if (!more || !copy) {
    free(copy);
    return false;
  }
  prop->boards[prop->n_boards++] = copy;
  return true;
}

void
prop_sound_clear(PropSound* sound) {
  for (size_t i = 0; i < sound->n_takes; ++i) {
    free(sound->takes[i]);
  }
  free(sound->takes);
  free(sound->section);
  free(sound->remark);
  prop_keys_clear(&sound->keys);
}

void
prop_clear(Prop* prop) {
  if (!prop) {
    return;
  }
  for (size_t i = 0; i < prop->n_sounds; ++i) {
    prop_sound_clear(&prop->sounds[i]);
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
