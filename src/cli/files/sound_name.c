#include "cli/files/files.h"

#include "cli/message/message.h"
#include "store/store.h"

#include <ctype.h>
#include <string.h>
#include <strings.h>

#define JOINERS ".-_ "

static bool
is_joiner(char c) {
  return c && strchr(JOINERS, c);
}

/// Look for a part's word at the end of [from, to).
static void
find_part(SoundName* name, size_t from, size_t to) {
  for (int part = VW_PART_SHOT; part < VW_PART_WHOLE; ++part) {
    const char* const word = vw_part_name((VwPart)part);
    const size_t      n = strlen(word);
    if (to - from > n + 1U && is_joiner(name->path[to - n - 1U]) &&
        !strncasecmp(name->path + to - n, word, n)) {
      name->has_part = true;
      name->part = (VwPart)part;
      name->at_part = to - n;
      return;
    }
  }
}

/// Where a sound's name begins behind its slot.
static size_t
behind_slot(const char* path, size_t from, size_t to) {
  size_t at = from;
  while (at < to && isdigit((unsigned char)path[at])) {
    ++at;
  }
  return at > from && at + 1U < to && is_joiner(path[at]) ? at + 1U : from;
}

SoundName
sound_name_of(const char* path) {
  const size_t from = (size_t)(vw_path_name(path) - path);
  size_t       to = (size_t)(vw_path_ending(path) - path);
  SoundName    name = {.path = path};
  find_part(&name, from, to);
  if (name.has_part) {
    to = name.at_part - 1U;
  }
  name.at_sound = behind_slot(path, from, to);
  name.n_sound = to - name.at_sound;
  return name;
}

char*
sound_name_sibling(const SoundName* name, VwPart part) {
  const char* const word = vw_part_name(part);
  char* const       sibling =
    text_format("%.*s%s%s",
                (int)name->at_part,
                name->path,
                word,
                name->path + name->at_part + strlen(vw_part_name(name->part)));
  // Boards that want capital letters have them in all parts.
  if (sibling && isupper((unsigned char)name->path[name->at_part])) {
    for (size_t i = 0; i < strlen(word); ++i) {
      char* const at = &sibling[name->at_part + i];
      *at = (char)toupper((unsigned char)*at);
    }
  }
  return sibling;
}

bool
sound_name_is(const SoundName* name, const char* sound) {
  return strlen(sound) == name->n_sound &&
         !strncasecmp(name->path + name->at_sound, sound, name->n_sound);
}

bool
sound_name_is_sibling(const SoundName* name, const SoundName* other) {
  const size_t n = (size_t)(vw_path_name(name->path) - name->path);
  return n == (size_t)(vw_path_name(other->path) - other->path) &&
         !strncmp(name->path, other->path, n) &&
         name->n_sound == other->n_sound &&
         !strncasecmp(name->path + name->at_sound,
                      other->path + other->at_sound,
                      name->n_sound);
}

bool
sound_name_sounds_on(const SoundName* name) {
  VwMade made = {0};
  return vw_made_as(name->path, &made)
           ? made.part == VW_PART_LOOP && !made.shots
           : name->has_part && name->part == VW_PART_LOOP &&
               vw_is_made_otherwise(name->path);
}
