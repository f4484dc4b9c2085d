#include "cli/options/level_options.h"

#include "cli/message/say.h"
#include "cli/message/suggest.h"
#include "cli/options/choice.h"
#include "cli/options/units.h"

#include <math.h>
#include <string.h>

#define COUNT(array) (sizeof(array) / sizeof((array)[0]))

#define LUFS_LEAST (-60.0)
#define LUFS_MOST 0.0
#define CEILING_LEAST_DBTP (-20.0)
#define CORNER_LEAST_HZ 50.0
#define CORNER_MOST_HZ 2000.0

#define SPEAKERS "40mm, 350Hz or none"
#define DIAMETERS "15mm, 20mm, 28mm, 40mm or 57mm"

// What a diameter of speaker can play from: common practice.
static const struct {
  double mm;
  double corner_hz;
} speakers[] = {{15.0, 800.0},
                {20.0, 800.0},
                {28.0, 550.0},
                {40.0, 375.0},
                {57.0, 400.0}};

/// Read a number whose range the caller looks at.
static bool
read_number(const Quantity* of,
            const char*     shown,
            const char*     value,
            double*         number) {
  Quantity any = *of;
  any.least = -HUGE_VAL;
  any.most = HUGE_VAL;
  return units_read(&any, shown, value, number);
}

static bool
read_loudness(const char* shown, const char* value, double* lufs) {
  static const Unit     units[] = {{"", 1.0, 1.0, false},
                                   {"LUFS", 1.0, 1.0, false},
                                   {"lufs", 1.0, 1.0, false}};
  static const Quantity loudness = {"LUFS",
                                    "-16, -16LUFS, loudest or keep",
                                    LUFS_LEAST,
                                    LUFS_MOST,
                                    UNITS(units),
                                    false};
  double                read = 0.0;
  if (!read_number(&loudness, shown, value, &read)) {
    return false;
  }
  if (read > LUFS_MOST) {
    say(shown,
        "%+g LUFS is more than full scale holds: give -60 to 0, such as -16",
        read);
    return false;
  }
  if (read < LUFS_LEAST) {
    say(shown,
        "%+g LUFS is too quiet to be heard: give -60 to 0, such as -16",
        read);
    return false;
  }
  *lufs = read;
  return true;
}

bool
level_set_loudness(Settings* settings, const char* shown, const char* value) {
  static const Choice aims[] = {
    {"loudest", VW_AIM_LOUDEST}, {"keep", VW_AIM_KEEP}, {NULL, 0}};
  VwLevelOptions* const level = &settings->family.level;
  int                   aim = VW_AIM_LOUDNESS;
  settings->has_loudness = true;
  if (suggest_is_near(value, "loudest") || suggest_is_near(value, "keep")) {
    if (!choose(aims, shown, value, &aim)) {
      return false;
    }
  } else if (!read_loudness(shown, value, &level->loudness_lufs)) {
    return false;
  }
  level->aim = (VwAim)aim;
  return true;
}

bool
level_set_gain(Settings* settings, const char* shown, const char* value) {
  static const Quantity gain = {
    "dB", "6, 6dB or -3", -60.0, 60.0, UNITS(units_db), false};
  settings->has_gain = true;
  settings->family.level.aim = VW_AIM_GAIN;
  return units_read(&gain, shown, value, &settings->family.level.gain_db);
}

bool
level_set_ceiling(Settings* settings, const char* shown, const char* value) {
  static const Unit     units[] = {{"", 1.0, 1.0, false},
                                   {"dBTP", 1.0, 1.0, false},
                                   {"dB", 1.0, 1.0, false},
                                   {"db", 1.0, 1.0, false}};
  static const Quantity ceiling = {
    "dBTP", "-1, -1dB or -1dBTP", CEILING_LEAST_DBTP, 0.0, UNITS(units), false};
  double read = 0.0;
  if (!read_number(&ceiling, shown, value, &read)) {
    return false;
  }
  if (read > 0.0) {
    say(shown, "above 0 dBTP a board clips: give -20 to 0, such as -1");
    return false;
  }
  if (read < CEILING_LEAST_DBTP) {
    say(shown, "out of range: give -20 to 0 dBTP, such as -1");
    return false;
  }
  settings->family.level.ceiling_dbtp = read;
  return true;
}

/* Speaker */

static bool
set_diameter(const char* shown, double mm, double* corner_hz) {
  for (size_t i = 0; i < COUNT(speakers); ++i) {
    if (speakers[i].mm == mm) {
      *corner_hz = speakers[i].corner_hz;
      return true;
    }
  }
  say(shown,
      "no speaker of that diameter is known: give " DIAMETERS
      ", or its corner, such as 350Hz");
  return false;
}

static bool
set_corner(const char* shown, double hz, double* corner_hz) {
  if (hz < CORNER_LEAST_HZ || hz > CORNER_MOST_HZ) {
    say(shown,
        "out of range: give a corner of 50 to 2000 Hz, " DIAMETERS ", or none");
    return false;
  }
  *corner_hz = hz;
  return true;
}

bool
level_set_speaker(Settings* settings, const char* shown, const char* value) {
  static const Unit     units[] = {{"", 1.0, 1.0, false},
                                   {"mm", 1.0, 1.0, false},
                                   {"Hz", 1.0, 1.0, false},
                                   {"hz", 1.0, 1.0, false},
                                   {"kHz", 1000.0, 1.0, false},
                                   {"khz", 1000.0, 1.0, false}};
  static const Quantity any = {"", SPEAKERS, 0.0, 0.0, UNITS(units), false};
  double* const         corner_hz = &settings->family.level.speaker_hz;
  double                read = 0.0;
  if (!strcmp(value, "none")) {
    *corner_hz = 0.0;
    return true;
  }
  if (!read_number(&any, shown, value, &read)) {
    return false;
  }
  if (strstr(value, "mm")) {
    return set_diameter(shown, read, corner_hz);
  }
  if (!strpbrk(value, "zZ")) {
    say(shown,
        "a number alone: write " DIAMETERS
        ", or the speaker's corner, such as 350Hz");
    return false;
  }
  return set_corner(shown, read, corner_hz);
}

bool
level_set_loud_as(Settings* settings, const char* shown, const char* value) {
  static const Choice whats[] = {
    {"shot", VW_LOUD_AS_SHOT}, {"burst", VW_LOUD_AS_BURST}, {NULL, 0}};
  int what = 0;
  if (!choose(whats, shown, value, &what)) {
    return false;
  }
  settings->family.level.loud_as = (VwLoudAs)what;
  return true;
}
