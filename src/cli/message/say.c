#include "cli/message/figures.h"
#include "cli/message/message.h"

#include <ctype.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>

unsigned
caution_of_flashes(double pulse_hz) {
  // A rate that whole frames made 1,000 ppm slower is still the same.
  return 1000.0 * pulse_hz >= 999.0 * CAUTION_FLASHES_PER_S ? VW_CAUTION_FLASH
                                                            : 0U;
}

const char*
caution_text(unsigned caution) {
  const VwCaution* const of = vw_caution(caution, 0);
  return of ? of->text : NULL;
}

Figures*
caution_figures(unsigned which) {
  Figures* const   made = figures_new();
  const VwCaution* of = NULL;
  for (size_t i = 0; (of = vw_caution(which, i)); ++i) {
    figures_set(made, of->key, of->text);
  }
  return made;
}

void
caution_lines(unsigned which, unsigned* said, FILE* out) {
  const VwCaution* of = NULL;
  for (size_t i = 0; (of = vw_caution(which, i)); ++i) {
    if (!said || !(*said & of->which)) {
      line_wrap(out, "CAUTION", of->text);
    }
  }
  if (said) {
    *said |= which;
  }
}

static void
say_list(const char* subject, const char* format, va_list arguments) {
  char* const fault = text_format_list(format, arguments);
  char* const line = text_format("volleyweave: %s: %s", subject, fault);
  char* const safe = text_safe(line);
  line_flow(stderr, safe);
  free(safe);
  free(line);
  free(fault);
}

bool
say(const char* subject, const char* format, ...) {
  va_list arguments;
  va_start(arguments, format);
  say_list(subject, format, arguments);
  va_end(arguments);
  return false;
}

int
say_usage(const char* subject, const char* format, ...) {
  va_list arguments;
  va_start(arguments, format);
  say_list(subject, format, arguments);
  va_end(arguments);
  return EXIT_USAGE;
}

static const char* const status_words[] = {
  [VW_OK] = "OK",
  [VW_NO_MEMORY] = "NO_MEMORY",
  [VW_BAD_OPTION] = "BAD_OPTION",
  [VW_MISSING] = "MISSING",
  [VW_UNREADABLE] = "UNREADABLE",
  [VW_NOT_REGULAR] = "NOT_REGULAR",
  [VW_NAME_NOT_UTF8] = "NAME_NOT_UTF8",
  [VW_EMPTY] = "EMPTY",
  [VW_NOT_AUDIO] = "NOT_AUDIO",
  [VW_CONTAINER] = "CONTAINER",
  [VW_DAMAGED] = "DAMAGED",
  [VW_NO_FRAMES] = "NO_FRAMES",
  [VW_CUT_SHORT] = "CUT_SHORT",
  [VW_TOO_SHORT] = "TOO_SHORT",
  [VW_TOO_LONG] = "TOO_LONG",
  [VW_TOO_MANY_VALUES] = "TOO_MANY_VALUES",
  [VW_CHANNELS] = "CHANNELS",
  [VW_SAMPLE_RATE] = "SAMPLE_RATE",
  [VW_NOT_FINITE] = "NOT_FINITE",
  [VW_SILENT] = "SILENT",
  [VW_NO_SHOT] = "NO_SHOT",
  [VW_BAD_STRETCH] = "BAD_STRETCH",
  [VW_BAD_PICK] = "BAD_PICK",
  [VW_BAD_START] = "BAD_START",
  [VW_OWN_OUTPUT] = "OWN_OUTPUT",
  [VW_SAME_STEM] = "SAME_STEM",
  [VW_IS_TAKE] = "IS_TAKE",
  [VW_EXISTS] = "EXISTS",
  [VW_NOT_A_FOLDER] = "NOT_A_FOLDER",
  [VW_NO_FOLDER] = "NO_FOLDER",
  [VW_FOLDER_READONLY] = "FOLDER_READONLY",
  [VW_DISK_FULL] = "DISK_FULL",
  [VW_WRITE_FAILED] = "WRITE_FAILED",
  [VW_CYCLE_TOO_LONG] = "CYCLE_TOO_LONG",
  [VW_BURST_TOO_LONG] = "BURST_TOO_LONG",
  [VW_FILE_TOO_BIG] = "FILE_TOO_BIG",
  [VW_NO_NAME] = "NO_NAME",
  [VW_NOT_CARRIED] = "NOT_CARRIED",
  [VW_NO_FILES] = "NO_FILES",
  [VW_UNFINISHED] = "UNFINISHED",
  [VW_NESTED] = "NESTED",
  [VW_CARD_TOO_SMALL] = "CARD_TOO_SMALL",
  [VW_CARD_GONE] = "CARD_GONE",
  [VW_NOT_SAME] = "NOT_SAME",
  [VW_TRACK_IN_MONO] = "TRACK_IN_MONO",
  [VW_NO_STEADY_RATE] = "NO_STEADY_RATE",
  [VW_NOT_JOINED] = "NOT_JOINED",
  [VW_BURST_JOINED] = "BURST_JOINED",
  [VW_TRACK_NO_SHOTS] = "TRACK_NO_SHOTS",
  [VW_ON_TIME] = "ON_TIME",
  [VW_SUPPLY_LOW] = "SUPPLY_LOW",
  [VW_SUPPLY_HIGH] = "SUPPLY_HIGH",
  [VW_CAPACITORS_SMALL] = "CAPACITORS_SMALL",
  [VW_CAPACITORS_BIG] = "CAPACITORS_BIG",
  [VW_TRIMMER_SHORT] = "TRIMMER_SHORT",
  [VW_COUNTS_FEW] = "COUNTS_FEW",
  [VW_BUSY] = "BUSY",
  [VW_LED_CURRENT] = "LED_CURRENT",
};

const char*
status_word(VwStatus status) {
  const size_t index = (size_t)status;
  const bool   known = index < sizeof(status_words) / sizeof(status_words[0]);
  return known ? status_words[index] : "UNKNOWN";
}

char*
status_message(VwStatus status) {
  const char* const fault = vw_strerror(status);
  const char* const remedy = vw_remedy(status);
  return text_format("%c%s%s%s",
                     tolower((unsigned char)fault[0]),
                     fault + 1,
                     *remedy ? ": " : "",
                     remedy);
}

bool
say_status(const char* subject, VwStatus status) {
  char* const message = status_message(status);
  say(subject, "%s", message);
  free(message);
  return false;
}
