#include "cli/boards/boards.h"
#include "cli/message/message.h"
#include "cli/options/options.h"
#include "container/container.h"

#include <stddef.h>
#include <string.h>

#define COUNT(array) (sizeof(array) / sizeof((array)[0]))

/* Words */

static const Choice yes_no[] = {{"yes", 1}, {"no", 0}, {NULL, 0}};

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
static const Quantity file_size = {"bytes",
                                   "2MB, 512KiB or none",
                                   {64.0, 1e12},
                                   UNITS(byte_units),
                                   true};

static const Quantity capacity = {"bytes",
                                  "8GB, 2MiB or unknown",
                                  {64.0, 1e12},
                                  UNITS(byte_units),
                                  true};

static const Quantity cluster = {"bytes",
                                 "32KiB or 512",
                                 {1.0, 67108864.0},
                                 UNITS(byte_units),
                                 true};

static const Quantity files = {"",
                               "99 or none",
                               {1.0, 1000000.0},
                               UNITS(units_none),
                               true};

static const Quantity slots = {"",
                               "12 or none",
                               {1.0, 99999.0},
                               UNITS(units_none),
                               true};

static const Quantity slot_digits = {"",
                                     "0 or 3",
                                     {0.0, 5.0},
                                     UNITS(units_none),
                                     true};

static const Quantity name_length = {"",
                                     "31 or none",
                                     {1.0, 255.0},
                                     UNITS(units_none),
                                     true};

static const Quantity buffer = {"frames",
                                "256",
                                VW_RANGE_BUFFER_FRAMES,
                                UNITS(units_frames),
                                true};

static const Quantity gap = {"ms",
                             "25, 25ms or 0.1s",
                             VW_RANGE_GAP_MS,
                             UNITS(units_ms),
                             false};

static const Quantity wait = {"ms",
                              "50ms or 0.05s",
                              VW_RANGE_WAIT_MS,
                              UNITS(units_ms),
                              false};

/* The table */

#define AT(member) offsetof(VwBoard, member)
#define SIZE(member) sizeof(((VwBoard*)NULL)->member)

// From the kind to the word for 0.
#define NUMBER(kind, member, quantity, zero)                                   \
  kind, AT(member), 0, 0, quantity, NULL, zero
#define WORD(member, words) BOARD_WORD, AT(member), 0, 0, NULL, words, NULL
#define YES_NO(member) BOARD_YES_NO, AT(member), 0, 0, NULL, yes_no, NULL
#define TEXT(member, zero)                                                     \
  BOARD_TEXT, AT(member), 0, SIZE(member), NULL, NULL, zero
#define LIST(member, n, words)                                                 \
  BOARD_LIST, AT(member), AT(n), SIZE(member) / sizeof(unsigned), NULL, words, \
    NULL

// A line and the comment a row.
// clang-format off
const BoardKey board_keys[BOARD_KEYS] = {
  {"format", "container", "container", WORD(container, vw_container_words),
   "{choices}."},
  {"format", "encoding", "encodings", LIST(encodings, n_encodings, format_encodings),
   "8, 16, 24 (bits) or float; of several, the first is used."},
  {"format", "sample-rate", "sample_rates_hz", LIST(sample_rates_hz, n_sample_rates, NULL),
   "44100 or 44.1kHz, up to eight; the first is used, `pack --fit` takes\n"
   "lower ones."},
  {"format", "channels", "channels", LIST(channels, n_channels, format_channels),
   "1 (mono), 2 (stereo) or 1, 2; the first is used."},

  {"limits", "file-size-max", "file_bytes_max", NUMBER(BOARD_BYTES, file_bytes_max, &file_size, "none"),
   "Most bytes of a file, as in 2MB or 512KiB; none: no limit."},
  {"limits", "capacity", "capacity_bytes", NUMBER(BOARD_BYTES, capacity_bytes, &capacity, "unknown"),
   "Bytes free for sounds on the card or flash, as in 8GB or 2MiB; or\n"
   "unknown."},
  {"limits", "cluster", "cluster_bytes", NUMBER(BOARD_FEW_BYTES, cluster_bytes, &cluster, NULL),
   "Files take whole clusters of this many bytes: 32KiB on many "
"cards."},
  {"limits", "files-max", "files_max", NUMBER(BOARD_NUMBER, files_max, &files, "none"),
   "Most files, or none: no limit."},
  {"limits", "slots", "slots_max", NUMBER(BOARD_NUMBER, slots_max, &slots, "none"),
   "The highest slot, or none: as many as the digits allow."},

  {"names", "digits", "name_slot_digits", NUMBER(BOARD_NUMBER, naming.digits, &slot_digits, NULL),
   "Digits of the slot in front of a name, 0 (no slot) to 5."},
  {"names", "sound", "name_has_sound", YES_NO(naming.sound),
   "Whether the sound's name is part of it: yes or no."},
  {"names", "parts", "name_has_part", YES_NO(naming.parts),
   "Whether the part's is: shot, loop and so on. For 01.wav, 02.wav:\n"
   "digits = 2, sound = no, parts = no; each part then has its slot."},
  {"names", "joiner", "name_joiner", TEXT(naming.joiner, NULL),
   "The characters between them, up to three; \"\": none."},
  {"names", "length", "name_characters_max", NUMBER(BOARD_NUMBER, naming.length_max, &name_length, "none"),
   "Most characters of a name with its ending, or none: no limit."},
  {"names", "eight-three", "name_eight_three", YES_NO(naming.eight_three),
   "Eight characters and an ending of three: yes or no."},
  {"names", "letters", "name_letters", WORD(naming.letters, letters),
   "{choices}."},
  {"names", "allowed", "name_allowed", TEXT(naming.allowed, "any"),
   "Characters beside letters and digits, as in _-, or any."},
  {"names", "group-folders", "group_folders", YES_NO(naming.group_folders),
   "Whether each group of sounds has a folder of its own."},

  {"playing", "repeat", "repeat", WORD(repeat, words_repeat),
   "The part that it repeats while its trigger is held: whole-file,\n"
   "loop-points, three-files (the second of three) or nothing."},
  {"playing", "loop-points", "loop_points", YES_NO(loop_points),
   "Whether it reads loop points in WAV files."},
  {"playing", "gap", "gap_ms", NUMBER(BOARD_MS, gap_ms, &gap, NULL),
   "The silence between two repeats, 0ms to 1s. The command gauge\n"
   "measures it, and delay, press-min and on-release, by a recording of\n"
   "the board."},
  {"playing", "buffer", "buffer_frames", NUMBER(BOARD_NUMBER, buffer_frames, &buffer, NULL),
   "Frames read at once, 1 to 65536: a loop is a multiple of them."},
  {"playing", "delay", "delay_ms", NUMBER(BOARD_MS, delay_ms, &wait, NULL),
   "From the trigger to the sound, 0ms to 5s."},
  {"playing", "press-min", "press_min_ms", NUMBER(BOARD_MS, press_min_ms, &wait, NULL),
   "The shortest press that it notices, 0ms to 5s."},
  {"playing", "on-release", "on_release", WORD(release, words_release),
   "When the trigger is let go it stops or finishes the file."},
  {"playing", "order", "order", WORD(order, orders),
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
  const char* near = NULL;
  for (size_t i = 0; i < BOARD_KEYS; ++i) {
    near = suggest_nearer(name, near, board_keys[i].name);
  }
  return near ? board_keys_find(NULL, near) : NULL;
}

const char*
board_keys_hint(const char* name) {
  static const FirstTry hints[] = {
    {" name ", "a board is called as its file: rename that"},
    {" rate samplerate ", "write sample-rate, as in sample-rate = 22.05kHz"},
    {" bits ", "write encoding, as in encoding = 16"},
    {" type format ", "write container, as in container = wav"},
    {" size ", "write capacity (of all) or file-size-max (of a file)"},
    {" pause ", "write gap, as in gap = 50ms"},
    {" latency ", "write delay, as in delay = 20ms"},
    {" release ", "write on-release, as in on-release = finishes"},
    {" loop ", "write repeat, as in repeat = whole-file"},
    {" include ", "there are no includes: write all into one file"},
  };
  return suggest_hint(hints, COUNT(hints), name);
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
