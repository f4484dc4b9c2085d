#include "support/recordings.h"

#include "support/check.h"

#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const char* recordings_folder;

bool
recordings_find(const char* folder) {
  recordings_folder = folder ? folder : "/usr/share/games/bzflag";
  DIR* const there = opendir(recordings_folder);
  if (!there) {
    fprintf(stderr,
            "the recordings for the tests are missing: run tools/set-up\n");
    return false;
  }
  closedir(there);
  return true;
}

const char*
recordings_place(void) {
  return recordings_folder;
}

static int
is_wav(const struct dirent* entry) {
  const size_t n = strlen(entry->d_name);
  return n > 4 && !strcmp(entry->d_name + n - 4, ".wav");
}

size_t
recordings_each(bool (*check)(const char* name, const VwSound* raw)) {
  struct dirent** entries = NULL;
  const int       n = scandir(recordings_folder, &entries, is_wav, alphasort);
  size_t          n_held = 0;
  for (int i = 0; i < n; ++i) {
    const VwReadOptions options = vw_read_defaults();
    char                path[4096];
    VwSound             raw;
    snprintf(
      path, sizeof(path), "%s/%s", recordings_folder, entries[i]->d_name);
    if (check_equal(vw_read(path, &options, &raw, NULL), VW_OK, "%s", path)) {
      n_held += check(entries[i]->d_name, &raw) ? 1 : 0;
      vw_sound_clear(&raw);
    }
    free(entries[i]);
  }
  free(entries);
  return n_held;
}
