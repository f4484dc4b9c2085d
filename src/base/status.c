#include "base/status.h"

#include "volleyweave/volleyweave.h"

#include <assert.h>
#include <stdlib.h>
#include <string.h>

/// What went wrong, and what to do about it.
typedef struct {
  const char* fault;
  const char* remedy;
} Advice;

static const Advice advices[] = {
  [VW_OK] = {"Done", ""},
  [VW_NO_MEMORY] = {"There is not enough memory",
                    "close other programs, or give a shorter take"},
  [VW_BAD_OPTION] = {"An option lies outside its range",
                     "keep to the range that the manual states"},
  [VW_MISSING] = {"No file has that name", "check the spelling and the folder"},
  [VW_UNREADABLE] = {"The file cannot be read",
                     "change its permissions, or copy it again"},
  [VW_NOT_REGULAR] = {"It is a folder, a pipe or a device, not a file",
                      "give the name of a file"},
  [VW_NAME_NOT_UTF8] = {"Its name is not UTF-8", "rename it"},
  [VW_EMPTY] = {"The file is empty", "copy it or record it again"},
  [VW_NOT_AUDIO] = {"No sound can be recognised in it",
                    "give a WAV, FLAC, Ogg, MP3 or AIFF file"},
  [VW_CONTAINER] = {"Its sound is compressed in a way that cannot be read",
                    "save it as WAV or FLAC from an audio editor"},
  [VW_DAMAGED] = {"The file is damaged",
                  "save it again from the editor, or copy it again"},
  [VW_NO_FRAMES] = {"It has a header but no sound behind it",
                    "save it again from the editor, or record it again"},
  [VW_CUT_SHORT] = {"Its end is missing",
                    "save it again from the editor, or copy it again"},
  [VW_TOO_SHORT] = {"It is shorter than 5 ms", "give a longer take"},
  [VW_TOO_LONG] = {"It is too long", "cut the shot out of it first"},
  [VW_TOO_MANY_VALUES] =
    {"It holds more than 120 million sample values",
     "cut the shot out of it first, or save it in mono or at 48 kHz"},
  [VW_CHANNELS] = {"It has no channel, or more than 8",
                   "save it in mono or stereo"},
  [VW_SAMPLE_RATE] = {"Its sample rate is not 4 to 384 kHz",
                      "save it at 44.1 or 48 kHz"},
  [VW_NOT_FINITE] = {"Some of its sample values are not finite numbers",
                     "save it again from the editor, as 24-bit WAV"},
  [VW_SILENT] = {"It is silent", "check the recording, or give another take"},
  [VW_NO_SHOT] = {"Nothing in it rises out of the noise",
                  "record it nearer or louder"},
  [VW_BAD_STRETCH] = {"The stretch asked for does not lie in it, or is shorter "
                      "than 5 ms",
                      "give a --from before its end, and a --to after that"},
  [VW_BAD_PICK] = {"It holds fewer shots than the one to pick",
                   "pick one of those that `volleyweave inspect` lists"},
  [VW_BAD_START] = {"The start asked for lies outside the shot",
                    "give a --start within it, or --pick another shot"},
  [VW_OWN_OUTPUT] = {"It is a file that this program made",
                     "give the recording from which it was made"},
  [VW_SAME_STEM] =
    {"Two takes would make files of the same name",
     "rename one of them, or give them in two runs with a folder each"},
  [VW_IS_TAKE] = {"The output would replace a take",
                  "write to another folder, or under another name"},
  [VW_EXISTS] = {"The file exists, and was not made here or changed since",
                 "move it away, or have it replaced with --force"},
  [VW_NOT_A_FOLDER] = {"A file stands where a folder is meant",
                       "give another folder, or move that file away"},
  [VW_NO_FOLDER] = {"The folder to write to is missing",
                    "make it first, or check its spelling"},
  [VW_FOLDER_READONLY] =
    {"The folder may not be written to",
     "give another folder, or change the folder's permissions"},
  [VW_DISK_FULL] = {"No room is left on the disk",
                    "make room, or write to another disk"},
  [VW_WRITE_FAILED] = {"Writing failed",
                       "try another name, or another folder or disk"},
  [VW_CYCLE_TOO_LONG] =
    {"The shots asked at that fire rate exceed the longest cycle",
     "ask for fewer shots, a higher fire rate or a longer cycle"},
  [VW_BURST_TOO_LONG] = {"The burst asked is longer than 10 minutes",
                         "ask for a shorter burst"},
  [VW_FILE_TOO_BIG] =
    {"The cycle is too big for a file of this board",
     "ask for fewer shots, a higher fire rate or a lower sample rate"},
  [VW_NO_NAME] = {"The board allows no name for its file",
                  "give it a slot, or a name of letters and digits"},
  [VW_NOT_CARRIED] = {"The container cannot hold this format",
                      "take another container or encoding"},
  [VW_NO_FILES] = {"There is no file in the folder",
                   "name the folder of a pack"},
  [VW_UNFINISHED] = {"The pack is unfinished",
                     "make it again with `volleyweave pack`"},
  [VW_NESTED] = {"Pack and card are one folder, or one lies in the other",
                 "name the folder where the card is mounted"},
  [VW_CARD_TOO_SMALL] = {"The card is smaller than the pack",
                         "take a larger card, or make the pack smaller"},
  [VW_CARD_GONE] = {"The card is gone", "put it in again, and deliver again"},
  [VW_NOT_SAME] = {"The file read back differs from the one written",
                   "deliver again; if that does not help, take another card"},
  [VW_TRACK_IN_MONO] =
    {"The lamp track needs a channel of its own, and one channel "
     "is written",
     "give --channels 2, or a board with two"},
  [VW_NO_STEADY_RATE] = {"No shots that follow each other evenly were found",
                         "give a loop or a recording of rapid fire"},
  [VW_NOT_JOINED] =
    {"Run-in and ring-out takes are for hums, or rapid fire as recorded",
     "leave them or --fire-rate out, or give --as"},
  [VW_BURST_JOINED] =
    {"A burst needs single shots, not a hum or rapid fire as recorded",
     "give --fire-rate for rapid fire, or make a loop"},
  [VW_TRACK_NO_SHOTS] =
    {"A lamp track needs shots, and a sustained sound has none",
     "leave --lamp-track out, or give --as rapid-fire or --as shot"},
  [VW_ON_TIME] = {"The on-time does not fit into the period",
                  "ask for a shorter on-time or a lower fire rate"},
  [VW_SUPPLY_LOW] =
    {"The supply is too low for it",
     "give a higher supply, or a diode or lamp that drops less"},
  [VW_SUPPLY_HIGH] = {"The supply is too high for the chip",
                      "give a supply of 16 V at most, 15 V for a CMOS chip"},
  [VW_LED_CURRENT] = {"The LED current is more than can be switched",
                      "ask for a lower current"},
  [VW_CAPACITORS_SMALL] =
    {"Every capacitor at hand needs resistors above 1 Mohm",
     "add a bigger capacitor to the list"},
  [VW_CAPACITORS_BIG] = {"Every capacitor at hand needs resistors below 1 kohm",
                         "add a smaller capacitor to the list"},
  [VW_TRIMMER_SHORT] =
    {"No trimmer covers the tolerances of these parts",
     "take parts of a closer tolerance, or add a capacitor to the list"},
  [VW_COUNTS_FEW] = {"The period takes more counts than the timer has",
                     "give a greater prescaler, a lower clock or more bits"},
  [VW_BUSY] = {"Another run is making this pack, or just has",
               "wait until it has ended, then pack again"},
};

static const Advice*
advice_for(VwStatus status) {
  static const Advice unknown = {"An unknown fault", ""};

  const size_t index = (size_t)status;
  return index < sizeof(advices) / sizeof(advices[0]) ? &advices[index]
                                                      : &unknown;
}

const char*
vw_strerror(VwStatus status) {
  return advice_for(status)->fault;
}

const char*
vw_remedy(VwStatus status) {
  return advice_for(status)->remedy;
}

const char*
vw_version(void) {
  return VW_VERSION;
}

/* Faults */

/// A copy of a text, or NULL for NULL. False without memory.
static bool
copy(const char* text, char** copied) {
  *copied = text ? strdup(text) : NULL;
  return !text || *copied;
}

static void
fault_clear(VwFault* fault) {
  free(fault->path);
  free(fault->what);
  free(fault->remedy);
}

VwStatus
vw_faults_add(VwFaults*   faults,
              const char* path,
              unsigned    line,
              const char* what,
              const char* remedy) {
  assert(faults && what && remedy);
  VwFault* const grown =
    realloc(faults->faults, (faults->n_faults + 1U) * sizeof(VwFault));
  if (!grown) {
    return VW_NO_MEMORY;
  }
  faults->faults = grown;
  VwFault    fault = {.line = line};
  const bool copied = copy(path, &fault.path) && copy(what, &fault.what) &&
                      copy(remedy, &fault.remedy);
  if (!copied) {
    fault_clear(&fault);
    return VW_NO_MEMORY;
  }
  grown[faults->n_faults++] = fault;
  return VW_OK;
}

void
vw_faults_clear(VwFaults* faults) {
  if (faults) {
    for (size_t i = 0; i < faults->n_faults; ++i) {
      fault_clear(&faults->faults[i]);
    }
    free(faults->faults);
    *faults = (VwFaults){0};
  }
}

/* Words */

// The name at an index, or an empty one beyond the end.
static const char*
name_at(const char* const* names, size_t n_names, size_t index) {
  return index < n_names ? names[index] : "";
}

const char*
vw_kind_name(VwKind kind) {
  static const char* const names[] = {
    "shot", "several shots", "sustained", "rapid fire"};

  return name_at(names, sizeof(names) / sizeof(names[0]), (size_t)kind);
}

const char*
vw_encoding_name(VwEncoding encoding) {
  static const char* const names[] = {
    "8-bit unsigned PCM", "16-bit PCM", "24-bit PCM", "32-bit float"};

  return name_at(names, sizeof(names) / sizeof(names[0]), (size_t)encoding);
}

const char*
vw_form_name(VwForm form) {
  static const char* const names[] = {
    "pieces", "whole-file", "loop-points", "burst"};

  return name_at(names, sizeof(names) / sizeof(names[0]), (size_t)form);
}

const char*
vw_part_name(VwPart part) {
  static const char* const names[] = {
    "shot", "runin", "loop", "ringout", "burst", "whole"};

  return name_at(names, sizeof(names) / sizeof(names[0]), (size_t)part);
}
