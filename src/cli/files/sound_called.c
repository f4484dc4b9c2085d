#include "cli/files/sound_called.h"

#include "cli/message/text.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#define LIST "/.volleyweave.list"
#define WORDS "pack name "

/// The sound in a line on a file, or NULL.
static const char*
sound_in(const char* line, const char* file) {
  const size_t n_words = strlen(WORDS);
  const size_t n_file = strlen(file);
  return !strncmp(line, WORDS, n_words) &&
             !strncmp(line + n_words, file, n_file) &&
             line[n_words + n_file] == '\t'
           ? line + n_words + n_file + 1U
           : NULL;
}

char*
sound_called(const char* pack, const char* file) {
  char* const path = text_format("%s" LIST, pack);
  FILE* const list = path ? fopen(path, "r") : NULL;
  char*       line = NULL;
  size_t      n_room = 0;
  char*       found = NULL;
  while (list && !found && getline(&line, &n_room, list) > 0) {
    line[strcspn(line, "\n")] = '\0';
    const char* const sound = sound_in(line, file);
    found = sound ? text_format("%s", sound) : NULL;
  }
  if (list) {
    (void)fclose(list);
  }
  free(line);
  free(path);
  return found;
}

bool
sound_is_called(const char* pack, const char* file, const char* sound) {
  char* const called = sound_called(pack, file);
  const bool  is = called && !strcasecmp(called, sound);
  free(called);
  return is;
}
