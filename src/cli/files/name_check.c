#include "cli/files/name_check.h"

#include "base/text.h"
#include "cli/boards/boards.h"
#include "cli/message/message.h"

#include <stdlib.h>

/// A file to be.
typedef struct {
  char*  path; ///< Owned.
  size_t take;
} Name;

/// All of them.
typedef struct {
  const CommandName* command;
  const Settings*    settings;
  const Destination* destination;
  Name*              names; ///< Owned.
  size_t             n;
} Names;

static void
names_clear(Names* names) {
  for (size_t i = 0; i < names->n; ++i) {
    free(names->names[i].path);
  }
  free(names->names);
  *names = (Names){0};
}

static int
compare(const void* a, const void* b) {
  const Name* const one = a;
  const Name* const other = b;
  const int         order = vw_compare_without_case(one->path, other->path);
  return order ? order : one->take < other->take ? -1 : one->take > other->take;
}

/// Name the files of one take. At a fault those named so far are in `names`.
static VwStatus
name_take(Names* names, size_t take) {
  const Settings* const settings = names->settings;
  for (int i = VW_PART_SHOT; i <= VW_PART_WHOLE; ++i) {
    const VwPart part = (VwPart)i;
    // Taking turns, each take has its shot and all have one loop.
    const bool made =
      part == VW_PART_SHOT || !settings->loop.take_turns || !take;
    if (made && settings_write(names->command, settings, part)) {
      Name* const    name = &names->names[names->n];
      const VwStatus st =
        path_of_part(names->destination, settings, take, part, &name->path);
      if (st) {
        return st;
      }
      name->take = take;
      ++names->n;
    }
  }
  return VW_OK;
}

static VwStatus
refuse_same(const Settings* settings, const Name* one, const Name* other) {
  if (one->take == other->take) {
    say(settings->takes[one->take],
        "the board gives all its files one name: pick one of them with --part");
  } else {
    say(settings->takes[other->take],
        "its files would be named like those of %s: %s",
        settings->takes[one->take],
        vw_remedy(VW_SAME_STEM));
  }
  return VW_SAME_STEM;
}

/// Of the files of the same name, say it of the first that finds it taken.
static VwStatus
check_same(const Settings* settings, Names* names) {
  const Name* first = NULL;
  qsort(names->names, names->n, sizeof(Name), compare);
  for (size_t i = 1; i < names->n; ++i) {
    const Name* const at = &names->names[i];
    if (!vw_compare_without_case(at[-1].path, at->path) &&
        (!first || at->take < first->take)) {
      first = at;
    }
  }
  return first ? refuse_same(settings, first - 1, first) : VW_OK;
}

int
name_check(const CommandName* command,
           const Settings*    settings,
           const Destination* destination,
           VwStatus*          why) {
  if (destination->kind != TO_FOLDER) {
    return EXIT_DONE;
  }
  if (!board_check_slots(settings)) {
    *why = VW_NO_NAME;
    return EXIT_USAGE;
  }
  // Four parts are the most that a command makes of a take.
  Names    names = {command,
                    settings,
                    destination,
                    calloc(4U * settings->n_takes, sizeof(Name)),
                    0U};
  VwStatus st = names.names ? VW_OK : VW_NO_MEMORY;
  for (size_t i = 0; !st && i < settings->n_takes; ++i) {
    st = name_take(&names, i);
    if (st) {
      say_status(settings->takes[i], st);
    }
  }
  st = st ? st : check_same(settings, &names);
  names_clear(&names);
  *why = st;
  return st == VW_OK ? EXIT_DONE : st == VW_NO_MEMORY ? EXIT_FILE : EXIT_USAGE;
}
