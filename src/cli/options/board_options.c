#include "cli/options/board_options.h"

#include "base/text.h"
#include "cli/message/say.h"

#include <string.h>

const Quantity board_overrun_max =
  {"seconds", "1, 1s or 400ms", 0.05, 60.0, UNITS(units_seconds), false};

const Quantity board_run_in_max =
  {"seconds", "1, 1s or 500ms", 0.05, 60.0, UNITS(units_seconds), false};

const Quantity board_gap =
  {"ms", "25, 25ms or 0.1s", 0.0, 1000.0, UNITS(units_ms), false};

bool
board_set_slot(Settings* settings, const char* shown, const char* value) {
  static const Quantity slot = {
    "", "1, say", 1.0, 99999.0, UNITS(units_none), true};
  return units_read_count(&slot, shown, value, &settings->slot);
}

bool
board_set_name(Settings* settings, const char* shown, const char* value) {
  if (!vw_utf8_is_valid(value)) {
    say(shown, "the name is not UTF-8: choose another");
    return false;
  }
  if (!*value || value[0] == '.' || strchr(value, '/')) {
    say(shown,
        "a sound's name has no slash in it and no dot in front: write --name "
        "zap, say");
    return false;
  }
  settings->sound_name = value;
  return true;
}

bool
board_set_buffer(Settings* settings, const char* shown, const char* value) {
  static const Quantity buffer = {
    "frames", "256, say", 1.0, 65536.0, UNITS(units_frames), true};
  return units_read_count(
    &buffer, shown, value, &settings->family.buffer_frames);
}
