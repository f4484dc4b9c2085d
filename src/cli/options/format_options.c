#include "cli/options/format_options.h"

#include "cli/message/say.h"
#include "cli/options/units.h"

#include <string.h>

const Choice format_encodings[5] = {{"8", VW_ENCODING_U8},
                                    {"16", VW_ENCODING_S16},
                                    {"24", VW_ENCODING_S24},
                                    {"float", VW_ENCODING_FLOAT},
                                    {NULL, 0}};

const Choice format_channels[5] = {{"1", 1},
                                   {"2", 2},
                                   {"mono", 1},
                                   {"stereo", 2},
                                   {NULL, 0}};

bool
format_set_sample_rate(Settings*   settings,
                       const char* shown,
                       const char* value) {
  return units_read_sample_rate(shown, value, &settings->family.format.rate_hz);
}

bool
format_set_channels(Settings* settings, const char* shown, const char* value) {
  int n = 1;
  if (!choose(format_channels, shown, value, &n)) {
    return false;
  }
  settings->family.format.n_channels = (unsigned)n;
  settings->has_channels = true;
  return true;
}

bool
format_set_bits(Settings* settings, const char* shown, const char* value) {
  int encoding = 0;
  if (!strcmp(value, "32")) {
    say(shown, "32 bits are written as floating point: did you mean float?");
    return false;
  }
  if (!choose(format_encodings, shown, value, &encoding)) {
    return false;
  }
  settings->family.format.encoding = (VwEncoding)encoding;
  settings->has_bits = true;
  return true;
}

bool
format_set_dither(Settings* settings, const char* shown, const char* value) {
  static const Choice dithers[] = {
    {"tpdf", VW_DITHER_TPDF}, {"none", VW_DITHER_NONE}, {NULL, 0}};
  int dither = 0;
  if (!choose(dithers, shown, value, &dither)) {
    return false;
  }
  settings->family.format.dither = (VwDither)dither;
  return true;
}
