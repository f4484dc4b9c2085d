#include "cli/boards/board_keys.h"

#include "board/board.h"
#include "cli/message/suggest.h"
#include "cli/options/board_options.h"

#include <string.h>

#define COUNT(array) (sizeof(array) / sizeof((array)[0]))

/* Words */

static const Choice orders[] = {{"by-name", VW_ORDER_BY_NAME},
                                {"as-written", VW_ORDER_WRITTEN},
                                {NULL, 0}};

static const Choice letters[] = {{"any", VW_LETTERS_ANY},
                                 {"lower", VW_LETTERS_LOWER},
                                 {"upper", VW_LETTERS_UPPER},
                                 {NULL, 0}};

/* Quantities */

static const Unit byte_units[] = {{"", 1.0, 1.0, false},
                                  {"B", 1.0, 1.0, false},
                                  {"bytes", 1.0, 1.0, false},
                                  {"KB", 1e3, 1.0, false},
                                  {"kB", 1e3, 1.0, false},
                                  {"MB", 1e6, 1.0, false},
                                  {"GB", 1e9, 1.0, false},
                                  {"KiB", 1024.0, 1.0, false},
                                  {"MiB", 1048576.0, 1.0, false},
                                  {"GiB", 1073741824.0, 1.0, false}};

// A header of 44 bytes and next to no sound behind it.
static const Quantity file_size =
  {"bytes", "2MB, 512KiB or none", 64.0, 1e12, UNITS(byte_units), true};

static const Quantity capacity =
  {"bytes", "8GB, 2MiB or unknown", 64.0, 1e12, UNITS(byte_units), true};

static const Quantity cluster =
  {"bytes", "32KiB or 512", 1.0, 67108864.0, UNITS(byte_units), true};

static const Quantity files =
  {"", "99 or none", 1.0, 1000000.0, UNITS(units_none), true};

static const Quantity slots =
  {"", "12 or none", 1.0, 99999.0, UNITS(units_none), true};

static const Quantity digits =
  {"", "0 or 3", 0.0, 5.0, UNITS(units_none), true};

static const Quantity length =
  {"", "31 or none", 1.0, 255.0, UNITS(units_none), true};

static const Quantity buffer =
  {"frames", "256", 1.0, 65536.0, UNITS(units_frames), true};

static const Quantity wait =
  {"ms", "50ms or 0.05s", 0.0, 5000.0, UNITS(units_ms), false};

/* The table */

#define AT(member) offsetof(VwBoard, member)

// Two lines and the comment a row.
// clang-format off
const BoardKey board_keys[BOARD_KEYS] = {
  {"format", "container", "container", BOARD_WORD,
   AT(container), NULL, words_container, NULL,
   "wav, ogg, flac, raw (no header) or c-array (source text in C)."},
  {"format", "encoding", "encodings", BOARD_ENCODINGS,
   0, NULL, NULL, NULL,
   "8, 16, 24 (bits) or float; of several, the first is used."},
  {"format", "sample-rate", "sample_rates_hz", BOARD_SAMPLE_RATES,
   0, NULL, NULL, NULL,
   "44100 or 44.1kHz, up to eight; the first is used, `pack --fit` takes\n"
   "lower ones."},
  {"format", "channels", "channels", BOARD_CHANNELS,
   0, NULL, NULL, NULL,
   "1 (mono), 2 (stereo) or 1, 2; the first is used."},

  {"limits", "file-size-max", "file_bytes_max", BOARD_BYTES,
   AT(file_bytes_max), &file_size, NULL, "none",
   "Most bytes of a file, as in 2MB or 512KiB; none: no limit."},
  {"limits", "capacity", "capacity_bytes", BOARD_BYTES,
   AT(capacity_bytes), &capacity, NULL, "unknown",
   "Bytes free for sounds on the card or flash, as in 8GB or 2MiB; or\n"
   "unknown."},
  {"limits", "cluster", "cluster_bytes", BOARD_FEW_BYTES,
   AT(cluster_bytes), &cluster, NULL, NULL,
   "Files take whole clusters of so many bytes: 32KiB on many cards."},
  {"limits", "files-max", "files_max", BOARD_NUMBER,
   AT(files_max), &files, NULL, "none",
   "Most files, or none: no limit."},
  {"limits", "slots", "slots_max", BOARD_NUMBER,
   AT(slots_max), &slots, NULL, "none",
   "The highest slot, or none: as many as the digits allow."},

  {"names", "digits", "name_slot_digits", BOARD_NUMBER,
   AT(naming.digits), &digits, NULL, NULL,
   "Digits of the slot in front of a name, 0 (no slot) to 5."},
  {"names", "sound", "name_has_sound", BOARD_YES_NO,
   AT(naming.sound), NULL, NULL, NULL,
   "Whether the sound's name is part of it: yes or no."},
  {"names", "parts", "name_has_part", BOARD_YES_NO,
   AT(naming.parts), NULL, NULL, NULL,
   "Whether the part's is: shot, loop and so on. For 01.wav, 02.wav:\n"
   "digits = 2, sound = no, parts = no; each part then has its slot."},
  {"names", "joiner", "name_joiner", BOARD_JOINER,
   AT(naming.joiner), NULL, NULL, NULL,
   "What stands between them, up to three characters; \"\": nothing."},
  {"names", "length", "name_characters_max", BOARD_NUMBER,
   AT(naming.length_max), &length, NULL, "none",
   "Most characters of a name with its ending, or none: no limit."},
  {"names", "eight-three", "name_eight_three", BOARD_YES_NO,
   AT(naming.eight_three), NULL, NULL, NULL,
   "Eight characters and an ending of three: yes or no."},
  {"names", "letters", "name_letters", BOARD_WORD,
   AT(naming.letters), NULL, letters, NULL,
   "any, lower or upper."},
  {"names", "allowed", "name_allowed", BOARD_ALLOWED,
   AT(naming.allowed), NULL, NULL, NULL,
   "Characters beside letters and digits, as in _-, or any."},
  {"names", "group-folders", "group_folders", BOARD_YES_NO,
   AT(naming.group_folders), NULL, NULL, NULL,
   "Whether each group of sounds has a folder of its own."},

  {"playing", "repeat", "repeat", BOARD_WORD,
   AT(repeat), NULL, words_repeat, NULL,
   "What it repeats while its trigger is held: whole-file, loop-points,\n"
   "three-files (the second of three) or nothing."},
  {"playing", "loop-points", "loop_points", BOARD_YES_NO,
   AT(loop_points), NULL, NULL, NULL,
   "Whether it reads loop points in WAV files."},
  {"playing", "gap", "gap_ms", BOARD_MS,
   AT(gap_ms), &board_gap, NULL, NULL,
   "The silence between two repeats, 0ms to 1s. Measure it: record the\n"
   "board repeating a short file, and see how much longer than the file\n"
   "each repeat takes."},
  {"playing", "buffer", "buffer_frames", BOARD_NUMBER,
   AT(buffer_frames), &buffer, NULL, NULL,
   "Frames read at once, 1 to 65536: a loop is a multiple of them."},
  {"playing", "delay", "delay_ms", BOARD_MS,
   AT(delay_ms), &wait, NULL, NULL,
   "From the trigger to the sound, 0ms to 5s. Measure it: record the\n"
   "click of the trigger together with the sound."},
  {"playing", "press-min", "press_min_ms", BOARD_MS,
   AT(press_min_ms), &wait, NULL, NULL,
   "The shortest press that it notices, 0ms to 5s."},
  {"playing", "on-release", "on_release", BOARD_WORD,
   AT(release), NULL, words_release, NULL,
   "When the trigger is let go it stops or finishes the file."},
  {"playing", "order", "order", BOARD_WORD,
   AT(order), NULL, orders, NULL,
   "How it counts its files: by-name, or as-written to the card."},
};
// clang-format on

const BoardKey*
board_keys_find(const char* section, const char* name) {
  for (size_t i = 0; i < BOARD_KEYS; ++i) {
    if (!strcmp(board_keys[i].name, name) &&
        (!section || !strcmp(board_keys[i].section, section))) {
      return &board_keys[i];
    }
  }
  return NULL;
}

const BoardKey*
board_keys_nearest(const char* name) {
  const BoardKey* best = NULL;
  for (size_t i = 0; i < BOARD_KEYS; ++i) {
    const char* const known = board_keys[i].name;
    if (suggest_is_near(name, known) &&
        (!best ||
         suggest_distance(name, known) < suggest_distance(name, best->name))) {
      best = &board_keys[i];
    }
  }
  return best;
}

const char*
board_keys_hint(const char* name) {
  static const struct {
    const char* name;
    const char* hint;
  } hints[] = {
    {"name", "a board is called as its file: rename that"},
    {"rate", "write sample-rate, as in sample-rate = 22.05kHz"},
    {"samplerate", "write sample-rate, as in sample-rate = 22.05kHz"},
    {"bits", "write encoding, as in encoding = 16"},
    {"type", "write container, as in container = wav"},
    {"format", "write container, as in container = wav"},
    {"size", "write capacity (of all) or file-size-max (of a file)"},
    {"pause", "write gap, as in gap = 50ms"},
    {"latency", "write delay, as in delay = 20ms"},
    {"release", "write on-release, as in on-release = finishes"},
    {"loop", "write repeat, as in repeat = whole-file"},
    {"include", "there are no includes: write all into one file"},
  };
  for (size_t i = 0; i < COUNT(hints); ++i) {
    if (!strcmp(hints[i].name, name)) {
      return hints[i].hint;
    }
  }
  return NULL;
}

const char*
board_keys_section(const char* name) {
  const char* near = NULL;
  for (size_t i = 0; i < BOARD_KEYS; ++i) {
    const char* const known = board_keys[i].section;
    if (!strcmp(known, name)) {
      return known;
    }
    near = suggest_is_near(name, known) ? known : near;
  }
  return near;
}
