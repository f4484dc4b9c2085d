#include "cli/options/types.h"

#include "base/text.h"
#include "cli/message/message.h"
#include "cli/options/speaker.h"
#include "store/store.h"

#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define COUNT(array) (sizeof(array) / sizeof((array)[0]))

/// The field of an option.
static void*
field_of(const Value* value) {
  return (char*)value->settings + value->option->offset;
}

/* Flags and texts */

/// A flag has no value on the command line, but one in a sound list.
static bool
read_flag(const Value* value) {
  *(bool*)field_of(value) = !value->text || !strcmp(value->text, "yes");
  if (value->text && strcmp(value->text, "yes") && strcmp(value->text, "no")) {
    return say(value->shown,
               "neither yes nor no: give one of them, or leave the line out");
  }
  return true;
}

static bool
read_text(const Value* value) {
  *(const char**)field_of(value) = value->text;
  return true;
}

static bool
read_name(const Value* value) {
  if (!vw_utf8_is_valid(value->text)) {
    return say(value->shown, "the name is not UTF-8: choose another");
  }
  if (!*value->text) {
    return say(value->shown, "an empty name: name a folder or a file");
  }
  return read_text(value);
}

const OptionType type_flag = {.read = read_flag};
const OptionType type_text = {.read = read_text};
const OptionType type_name = {.read = read_name};
const OptionType type_take = {.read = read_name};

/* Words */

static bool
read_words(const Value* value) {
  return choose(
    value->option->words, value->shown, value->text, field_of(value));
}

static void
print_words(const Option* option, const void* field, char text[OPTION_TEXT]) {
  (void)snprintf(
    text, OPTION_TEXT, "%s", choice_word(option->words, *(const int*)field));
}

const OptionType type_words = {.read = read_words, .print = print_words};

/* Numbers */

static Quantity
quantity_of(const Option* option) {
  Quantity quantity = option->type->quantity;
  quantity.examples = option->written;
  quantity.range = option->range;
  return quantity;
}

/// Read a number without looking at the range.
static bool
read_unbounded(const Value* value, double* number) {
  Quantity any = quantity_of(value->option);
  any.range = (VwRange){-HUGE_VAL, HUGE_VAL};
  return units_read(&any, value->shown, value->text, number);
}

static bool
read_number(const Value* value) {
  const Quantity quantity = quantity_of(value->option);
  double* const  field = field_of(value);
  if (value->option->none && !strcmp(value->text, value->option->none)) {
    *field = NAN;
    return true;
  }
  return units_read(&quantity, value->shown, value->text, field);
}

static bool
read_count(const Value* value) {
  const Quantity quantity = quantity_of(value->option);
  return units_read_count(
    &quantity, value->shown, value->text, field_of(value));
}

static void
print_number(const Option* option, const void* field, char text[OPTION_TEXT]) {
  const OptionType* const type = option->type;
  const double            times = type->shown_times;
  (void)snprintf(text,
                 OPTION_TEXT,
                 "%.15g%s",
                 *(const double*)field * (times > 0.0 ? times : 1.0),
                 type->shown_unit ? type->shown_unit : "");
}

static void
print_count(const Option* option, const void* field, char text[OPTION_TEXT]) {
  (void)option;
  (void)snprintf(text, OPTION_TEXT, "%u", *(const unsigned*)field);
}

#define COUNTED .read = read_count, .print = print_count
#define NUMBER .read = read_number, .print = print_number
#define IN(name, all)                                                          \
  .quantity.unit_name = (name), .quantity.units = (all),                       \
  .quantity.n_units = COUNT(all)

// A unit that is the quantity's own under whatever name.
#define SAME(suffix)                                                           \
  { (suffix), 1.0, 1.0, false }

static const Unit cents[] = {SAME(""), SAME("cents"), SAME("cent"), SAME("ct")};

static const Unit dbfs[] = {SAME(""), SAME("dBFS"), SAME("dB")};

static const Unit hz[] = {SAME(""),
                          SAME("Hz"),
                          {"kHz", 1e3, 1.0, false},
                          {"MHz", 1e6, 1.0, false}};

static const Unit volt[] = {SAME(""), SAME("V"), {"mV", 1.0, 1000.0, false}};

static const Unit ampere[] = {SAME(""), SAME("A"), {"mA", 1.0, 1000.0, false}};

static const Unit ohm[] = {SAME(""), SAME("ohm"), {"mohm", 1.0, 1000.0, false}};

static const Unit ampere_hours[] = {SAME(""),
                                    SAME("Ah"),
                                    {"mAh", 1.0, 1000.0, false}};

static const Unit share[] = {SAME(""), {"%", 1.0, 100.0, false}};

static const Unit percent[] = {{"", 1.0, 100.0, false},
                               {"%", 1.0, 100.0, false}};

const OptionType type_count = {COUNTED,
                               IN("", units_none),
                               .quantity.whole = true};
const OptionType type_frames = {COUNTED,
                                IN("frames", units_frames),
                                .quantity.whole = true};
const OptionType type_whole = {NUMBER,
                               IN("", units_none),
                               .quantity.whole = true};
const OptionType type_number = {NUMBER, IN("", units_none)};
const OptionType type_seconds = {NUMBER, IN("seconds", units_seconds)};
const OptionType type_ms = {NUMBER, IN("ms", units_ms)};
const OptionType type_db = {NUMBER, IN("dB", units_db)};
const OptionType type_dbfs = {NUMBER, IN("dBFS", dbfs)};
const OptionType type_cents = {NUMBER, IN("cents (100 are a semitone)", cents)};
const OptionType type_hz = {NUMBER, IN("Hz", hz)};
const OptionType type_volt = {NUMBER, IN("V", volt)};
const OptionType type_ampere = {NUMBER,
                                IN("A", ampere),
                                .shown_times = 1e3,
                                .shown_unit = "mA"};
const OptionType type_ohm = {NUMBER, IN("ohm", ohm)};
const OptionType type_ampere_hours = {NUMBER, IN("Ah", ampere_hours)};
const OptionType type_share = {NUMBER, IN("", share)};
const OptionType type_percent = {NUMBER,
                                 IN("(5% to 20% are usual)", percent),
                                 .shown_times = 100.0,
                                 .shown_unit = "%"};

/* Burst and format */

static bool
read_form(const Value* value) {
  if (!strcmp(value->text, "burst")) {
    return say(value->shown,
               "a burst needs a number of shots: write for example --burst 3");
  }
  return read_words(value);
}

static bool
read_burst(const Value* value) {
  value->settings->family.form = VW_FORM_BURST;
  value->settings->family.burst_of_shots = true;
  return read_count(value);
}

static bool
read_seed(const Value* value) {
  return units_read_seed(value->shown, value->text, field_of(value));
}

static void
print_seed(const Option* option, const void* field, char text[OPTION_TEXT]) {
  (void)option;
  (void)snprintf(text, OPTION_TEXT, "%" PRIu64, *(const uint64_t*)field);
}

static bool
read_sample_rate(const Value* value) {
  return units_read_sample_rate(value->shown, value->text, field_of(value));
}

static bool
read_bits(const Value* value) {
  if (!strcmp(value->text, "32")) {
    return say(value->shown,
               "32 bits are written as floating point: did you mean float?");
  }
  return read_words(value);
}

const OptionType type_form = {.read = read_form, .print = print_words};
const OptionType type_burst = {.read = read_burst,
                               .print = print_count,
                               IN("", units_none),
                               .quantity.whole = true};
const OptionType type_seed = {.read = read_seed, .print = print_seed};
const OptionType type_sample_rate = {.read = read_sample_rate,
                                     .print = print_count};
const OptionType type_bits = {.read = read_bits, .print = print_words};

/* Level */

static bool
read_loudness(const Value* value) {
  VwLevelOptions* const level = &value->settings->family.level;
  const VwRange         range = value->option->range;
  double                lufs = 0.0;
  if (suggest_is_near(value->text, "loudest") ||
      suggest_is_near(value->text, "keep")) {
    return read_words(value);
  }
  if (!read_unbounded(value, &lufs)) {
    return false;
  }
  if (!vw_is_within(lufs, range)) {
    return say(value->shown,
               "%+g LUFS is %s: give %g to %g, such as -16",
               lufs,
               lufs > range.most ? "more than full scale holds"
                                 : "too quiet to be heard",
               range.least,
               range.most);
  }
  level->aim = VW_AIM_LOUDNESS;
  level->loudness_lufs = lufs;
  return true;
}

static bool
read_gain(const Value* value) {
  value->settings->family.level.aim = VW_AIM_GAIN;
  return read_number(value);
}

static bool
read_ceiling(const Value* value) {
  const VwRange range = value->option->range;
  double        dbtp = 0.0;
  if (!read_unbounded(value, &dbtp)) {
    return false;
  }
  if (dbtp > range.most) {
    return say(value->shown,
               "above %g dBTP a board clips: give %g to %g, such as -1",
               range.most,
               range.least,
               range.most);
  }
  if (dbtp < range.least) {
    return say(value->shown,
               "out of range: give %g to %g dBTP, such as -1",
               range.least,
               range.most);
  }
  *(double*)field_of(value) = dbtp;
  return true;
}

static bool
read_speaker(const Value* value) {
  VwSpeaker* const speaker = field_of(value);
  char* const      file = speaker_file(value->text);
  double           read = 0.0;
  if (file) {
    const bool good = speaker_file_read(file, speaker);
    free(file);
    return good;
  }
  if (!strcmp(value->text, value->option->none) ||
      !strcmp(value->text, SPEAKER_TRANSDUCER)) {
    *speaker = (VwSpeaker){
      .corner_hz = *value->text == 't' ? VW_TRANSDUCER_USUAL_HZ : 0.0};
    return true;
  }
  if (!read_unbounded(value, &read)) {
    return false;
  }
  if (strstr(value->text, "mm")) {
    return speaker_of_diameter(value->shown, read, speaker);
  }
  if (!strpbrk(value->text, "zZ")) {
    return say(value->shown,
               "a number alone: write " SPEAKER_DIAMETERS
               ", or the speaker's corner, such as 350Hz");
  }
  if (!vw_is_within(read, value->option->range)) {
    return say(value->shown,
               "out of range: give a corner of %g to %g Hz, " SPEAKER_DIAMETERS
               ", or none",
               value->option->range.least,
               value->option->range.most);
  }
  *speaker = (VwSpeaker){.corner_hz = read};
  return true;
}

static const Unit lufs_units[] = {SAME(""), SAME("LUFS"), SAME("lufs")};

static const Unit dbtp_units[] = {SAME(""),
                                  SAME("dBTP"),
                                  SAME("dB"),
                                  SAME("db")};

static const Unit speaker_units[] = {SAME(""),
                                     SAME("mm"),
                                     SAME("Hz"),
                                     SAME("hz"),
                                     {"kHz", 1000.0, 1.0, false},
                                     {"khz", 1000.0, 1.0, false}};

const OptionType type_loudness = {.read = read_loudness,
                                  .print = print_words,
                                  IN("LUFS", lufs_units)};
const OptionType type_gain = {.read = read_gain,
                              .print = print_number,
                              IN("dB", units_db)};
const OptionType type_ceiling = {.read = read_ceiling,
                                 .print = print_number,
                                 IN("dBTP", dbtp_units)};
const OptionType type_speaker = {.read = read_speaker, IN("", speaker_units)};

/* Names */

static bool
read_sound_name(const Value* value) {
  if (*value->text && value->text[0] != '.' && !strchr(value->text, '/')) {
    return read_name(value);
  }
  return say(value->shown,
             "a sound's name has no slash in it and no dot in front: write for "
             "example --name zap");
}

static bool
read_card(const Value* value) {
  if (!*value->text) {
    return say(value->shown,
               "an empty name: name the folder where the card is mounted");
  }
  return read_text(value);
}

static bool
read_header(const Value* value) {
  if (!vw_path_ends_in(value->text, ".h")) {
    return say(value->shown, "a C header: give a name that ends in .h");
  }
  return read_text(value);
}

static bool
read_picture(const Value* value) {
  if (!vw_path_ends_in(value->text, ".svg") &&
      !vw_path_ends_in(value->text, ".png")) {
    return say(value->shown,
               "a picture: give a name that ends in .svg or .png");
  }
  return read_name(value);
}

const OptionType type_sound_name = {.read = read_sound_name};
const OptionType type_card = {.read = read_card};
const OptionType type_header = {.read = read_header};
const OptionType type_picture = {.read = read_picture};

/* What rows say of themselves */

void
option_range(const Option* option, char text[OPTION_TEXT]) {
  char most[OPTION_TEXT];
  print_number(option, &option->range.least, text);
  print_number(option, &option->range.most, most);
  const size_t n = strlen(text);
  (void)snprintf(text + n, OPTION_TEXT - n, " to %s", most);
}

void
option_default(const Option* option, char text[OPTION_TEXT]) {
  const Settings defaults = settings_defaults();
  text[0] = '\0';
  if (option->usual > 0.0) {
    print_number(option, &option->usual, text);
  } else if (option->type->print) {
    option->type->print(option, (const char*)&defaults + option->offset, text);
  }
}
