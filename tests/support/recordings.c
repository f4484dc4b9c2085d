#define _XOPEN_SOURCE 700

#include "support/recordings.h"

#include "support/check.h"

#include <dirent.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

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

enum { PATH_MOST = 4096 };

// Split a line at its tabs, its end taken off.
static bool
label_of(char* line, RecordingLabel* label) {
  enum { FIELDS = 7 };
  char*  fields[FIELDS];
  size_t n = 0;
  line[strcspn(line, "\n")] = '\0';
  for (char* at = line; at && n < FIELDS; ++n) {
    fields[n] = at;
    at = strchr(at, '\t');
    if (at) {
      *at++ = '\0';
    }
  }
  if (n < FIELDS) {
    return false;
  }
  const bool  has_or = strcmp(fields[3], "-") != 0;
  const bool  is_known = strcmp(fields[4], "-") != 0;
  char* const to = strchr(fields[4] + 1, '-');
  *label = (RecordingLabel){
    .package = fields[0],
    .path = fields[1],
    .kind = fields[2],
    .or_kind = has_or ? fields[3] : NULL,
    .figure_least = is_known ? strtod(fields[4], NULL) : (double)NAN,
    .figure_most =
      is_known ? strtod(to ? to + 1 : fields[4], NULL) : (double)NAN,
    .is_held = !strcmp(fields[5], "held"),
  };
  return label->is_held || !strcmp(fields[5], "tune");
}

static bool
place_of(const RecordingLabel* label, char path[PATH_MOST]) {
  const char* const folder = getenv("VOLLEYWEAVE_RECORDINGS");
  if (folder) {
    snprintf(path, PATH_MOST, "%s/%s/%s", folder, label->package, label->path);
    if (!access(path, R_OK)) {
      return true;
    }
  }
  snprintf(path, PATH_MOST, "/%s", label->path);
  return !access(path, R_OK);
}

// WavPack, which libsndfile does not read, by way of a general reader.
static VwStatus
read_by_sox(const char* path, VwSound* raw) {
  char      wav[] = P_tmpdir "/recording-XXXXXX";
  const int file = mkstemp(wav);
  if (file < 0) {
    return VW_UNREADABLE;
  }
  close(file);
  char line[PATH_MOST + sizeof(wav) + 32];
  snprintf(line, sizeof(line), "sox -D '%s' -t wav '%s'", path, wav);
  const VwReadOptions options = vw_read_defaults();
  const VwStatus      status =
    system(line) ? VW_UNREADABLE : vw_read(wav, &options, raw, NULL);
  remove(wav);
  return status;
}

static VwStatus
read_any(const char* path, VwSound* raw) {
  const size_t n = strlen(path);
  if (n > 3 && !strcmp(path + n - 3, ".wv")) {
    return read_by_sox(path, raw);
  }
  const VwReadOptions options = vw_read_defaults();
  return vw_read(path, &options, raw, NULL);
}

// Say once that a package is not here: its lines follow each other.
static void
say_missing(const char* package) {
  static char said[64];
  if (strcmp(said, package) != 0) {
    fprintf(stderr, "%s is not here: its recordings are left out\n", package);
    snprintf(said, sizeof(said), "%s", package);
  }
}

static bool
visit_one(const RecordingLabel* label,
          void (*visit)(const RecordingLabel* label, const VwSound* raw)) {
  char    path[PATH_MOST];
  VwSound raw;
  if (!place_of(label, path)) {
    say_missing(label->package);
    return false;
  }
  if (!check_equal(read_any(path, &raw), VW_OK, "%s", path)) {
    return false;
  }
  visit(label, &raw);
  vw_sound_clear(&raw);
  return true;
}

size_t
recordings_labelled(const char* labels,
                    void (*visit)(const RecordingLabel* label,
                                  const VwSound*        raw)) {
  FILE* const file = fopen(labels, "r");
  char        line[512];
  size_t      n = 0;
  bool        ok = check_that(file != NULL, "%s", labels);
  while (ok && fgets(line, sizeof(line), file)) {
    RecordingLabel label;
    if (line[0] != '#') {
      ok = check_that(label_of(line, &label), "a label: %s", line);
      n += ok && visit_one(&label, visit) ? 1 : 0;
    }
  }
  if (file) {
    fclose(file);
  }
  return ok ? n : 0;
}
