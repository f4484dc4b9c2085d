#include "cli/options/speaker.h"

#include "cli/message/message.h"
#include "cli/options/ini.h"
#include "cli/options/options.h"
#include "store/store.h"

#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#define COUNT(array) (sizeof(array) / sizeof((array)[0]))

bool
speaker_of_diameter(const char* shown, double mm, VwSpeaker* speaker) {
  // What a diameter of speaker can play from: common practice.
  static const struct {
    double mm;
    double corner_hz;
  } speakers[] = {{15.0, 800.0},
                  {20.0, 800.0},
                  {28.0, 550.0},
                  {40.0, VW_SPEAKER_USUAL_HZ},
                  {57.0, 400.0}};
  for (size_t i = 0; i < COUNT(speakers); ++i) {
    if (speakers[i].mm == mm) {
      *speaker = (VwSpeaker){.corner_hz = speakers[i].corner_hz};
      return true;
    }
  }
  return say(shown,
             "no speaker of that diameter is known: give " SPEAKER_DIAMETERS
             ", or its corner, such as 350Hz");
}

/* Files */

char*
speaker_file(const char* value) {
  if (strchr(value, '/') || vw_path_ends_in(value, ".ini")) {
    return text_format("%s", value);
  }
  char* const path = text_format("%s" SPEAKER_FILE_ENDING, value);
  if (access(path, F_OK)) {
    free(path);
    return NULL;
  }
  return path;
}

char*
speaker_from(const char* text_file, const char* value) {
  const bool  whole = vw_path_ends_in(value, ".ini");
  char* const named =
    text_format("%s%s", value, whole ? "" : SPEAKER_FILE_ENDING);
  char* const path = named ? ini_path(text_file, named) : NULL;
  free(named);
  if (!path || whole || !access(path, F_OK)) {
    return path;
  }
  free(path); // a word, or a size
  return text_format("%s", value);
}

static const Unit hz_units[] = {{"Hz", 1.0, 1.0, false},
                                {"hz", 1.0, 1.0, false},
                                {"kHz", 1000.0, 1.0, false},
                                {"khz", 1000.0, 1.0, false}};

static const Quantity corner = {"Hz",
                                "380Hz",
                                VW_RANGE_SPEAKER_HZ,
                                UNITS(hz_units),
                                false};

// In their order in a line.
static const Quantity cut_quantities[] = {
  {"Hz", "1210Hz", VW_RANGE_CUT_HZ, UNITS(hz_units), false},
  {"dB", "-8.5dB", VW_RANGE_CUT_DB, UNITS(units_db), false},
  {"Q", "4.1", VW_RANGE_CUT_Q, UNITS(units_none), false}};

/// A line of a speaker's file.
typedef struct {
  Faults*         faults;
  const IniEntry* entry;
  VwSpeaker*      speaker;
} SpeakerLine;

static bool
read_one(const SpeakerLine* line,
         const Quantity*    quantity,
         const char*        text,
         double*            value) {
  char* const at = fault_subject(line->faults, line->entry->line);
  char* const shown = text_format("%s: %s", at, line->entry->key);
  const bool  good = units_read(quantity, shown, text, value);
  line->faults->n += good ? 0U : 1U;
  free(at);
  free(shown);
  return good;
}

static void
read_cut(const SpeakerLine* line) {
  double      values[COUNT(cut_quantities)] = {0.0};
  const char* at = line->entry->value;
  size_t      n = 0;
  for (; *at; ++n) {
    const size_t length = strcspn(at, " \t,");
    char* const  word = text_format("%.*s", (int)length, at);
    if (!word || n >= COUNT(values) ||
        !read_one(line, &cut_quantities[n], word, &values[n])) {
      free(word);
      break;
    }
    free(word);
    at += length + strspn(at + length, " \t,");
  }
  VwSpeaker* const speaker = line->speaker;
  if (line->faults->n) {
    return;
  }
  if (*at || n != COUNT(values)) {
    fault_say(line->faults,
              line->entry->line,
              "cut: a frequency, a level and a Q: write cut = 1210Hz -8.5dB "
              "4.1");
  } else if (speaker->n_cuts == VW_CUTS_MOST) {
    fault_say(line->faults,
              line->entry->line,
              "cut: there are %u at most: leave one out",
              VW_CUTS_MOST);
  } else {
    speaker->cuts[speaker->n_cuts++] =
      (VwPeakCut){.hz = values[0], .db = values[1], .q = values[2]};
  }
}

static void
read_line(const SpeakerLine* line) {
  if (!strcmp(line->entry->key, "cut")) {
    read_cut(line);
  } else if (!strcmp(line->entry->key, "high-pass")) {
    (void)read_one(
      line, &corner, line->entry->value, &line->speaker->corner_hz);
  } else if (!strcmp(line->entry->key, "resonance")) {
    (void)read_one(
      line, &corner, line->entry->value, &line->speaker->resonance_hz);
  } else {
    fault_say(line->faults,
              line->entry->line,
              "%s: no such key: there are high-pass, resonance and cut",
              line->entry->key);
  }
}

static bool
prove(Faults* faults, const IniFile* file, VwSpeaker* speaker) {
  for (size_t i = 0; i < file->n_sections; ++i) {
    const IniSection* const section = &file->sections[i];
    if (strcmp(section->name, "speaker") != 0) {
      fault_say(faults,
                section->line,
                "[%s]: no such section: write [speaker]",
                section->name);
      continue;
    }
    for (size_t k = 0; k < section->n_entries; ++k) {
      const SpeakerLine line = {faults, &section->entries[k], speaker};
      read_line(&line);
    }
  }
  if (!faults->n && speaker->corner_hz == 0.0) {
    fault_say(faults,
              0,
              "its high-pass is missing: write high-pass = 380Hz under "
              "[speaker]");
  }
  return fault_end(faults);
}

bool
speaker_file_read(const char* path, VwSpeaker* speaker) {
  VwSpeaker  read = {0};
  Faults     faults = {.path = path};
  IniFile    file = {0};
  const bool good =
    ini_read("cut", &faults, &file) && prove(&faults, &file, &read);
  ini_clear(&file);
  if (good) {
    *speaker = read;
  }
  return good;
}

void
speaker_file_print(const VwSpeaker* speaker, FILE* out) {
  fprintf(out,
          "[speaker]\n"
          "# What lies below it is left out.\n"
          "high-pass = %.0fHz\n",
          speaker->corner_hz);
  if (speaker->resonance_hz > 0.0) {
    fprintf(out,
            "# What it shakes rings there: a kick is of that frequency.\n"
            "resonance = %.0fHz\n",
            speaker->resonance_hz);
  }
  if (speaker->n_cuts) {
    fputs("# Resonances that are cut: middle, level, Q.\n", out);
  }
  for (unsigned i = 0; i < speaker->n_cuts; ++i) {
    const VwPeakCut* const cut = &speaker->cuts[i];
    fprintf(out, "cut = %.0fHz %.1fdB %.1f\n", cut->hz, cut->db, cut->q);
  }
}
