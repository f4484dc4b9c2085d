#include "cli/options/track_options.h"

static const Unit hz_units[] = {{"", 1.0, 1.0, false},
                                {"Hz", 1.0, 1.0, false},
                                {"kHz", 1000.0, 1.0, false}};

static const Unit dbfs_units[] = {{"", 1.0, 1.0, false},
                                  {"dBFS", 1.0, 1.0, false},
                                  {"dB", 1.0, 1.0, false}};

const Quantity track_on_time =
  {"ms", "30, 30ms or 0.03s", 5.0, 500.0, UNITS(units_ms), false};

const Quantity track_frequency =
  {"Hz", "3000, 3000Hz or 3kHz", 2000.0, 4000.0, UNITS(hz_units), false};

const Quantity track_level =
  {"dBFS", "-6 or -6dBFS", -20.0, 0.0, UNITS(dbfs_units), false};
