// The C header of a prop's lamps: a table, and a name for each of its rows.

#include "board/board.h"
#include "cli/lamp/lamp_comment.h"
#include "cli/lamp/lamp_prop.h"
#include "cli/message/text.h"
#include "cli/prop/prop.h"
#include "lamp/lamp.h"

#include <ctype.h>
#include <inttypes.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Names */

/// A name in capitals of which a compiler takes every character. To be freed.
static char*
identifier(const char* name) {
  char* const made = text_format("%s", name);
  for (char* at = made; at && *at; ++at) {
    const unsigned char c = (unsigned char)*at;
    *at = c < 0x80U && isalnum(c) ? (char)toupper(c) : '_';
  }
  return made;
}

/// Whether a sound before this one has the same identifier.
static bool
is_taken(const LampProp* prop, size_t index, const char* made) {
  bool taken = false;
  for (size_t i = 0; !taken && i < index; ++i) {
    char* const other = identifier(prop->lamps[i].sound);
    taken = other && !strcmp(other, made);
    free(other);
  }
  return taken;
}

static void
print_identifier(const LampProp* prop, size_t index, FILE* out) {
  char* const made = identifier(prop->lamps[index].sound);
  fprintf(out, "LAMP_SOUND_%s", made ? made : "");
  if (!made || is_taken(prop, index, made)) {
    // No identifier has a small letter of its own.
    fprintf(out, "_n%zu", index + 1U);
  }
  free(made);
}

/// A name inside a comment, which it must not end.
static void
print_name(const char* name, FILE* out) {
  for (; *name; ++name) {
    const unsigned char c = (unsigned char)*name;
    const bool plain = c < 0x7fU && isprint(c) && !strchr("*/\\?", (int)c);
    fputc(plain ? (int)c : '_', out);
  }
}

/* Rows */

static void
print_names(const LampProp* prop, FILE* out) {
  fprintf(out, "\n/* Rows of lamp_flashes. */\nenum {\n");
  for (size_t i = 0; i < prop->n_lamps; ++i) {
    fputs("  ", out);
    print_identifier(prop, i, out);
    fprintf(out, " = %zu,\n", i);
  }
  fprintf(out, "  LAMP_SOUNDS = %zu\n};\n", prop->n_lamps);
}

static void
print_type(bool counts, FILE* out) {
  fprintf(out,
          "\n/* Of one sound. */\n"
          "struct lamp_flash {\n"
          "  unsigned long slot; /* 0: none. */\n"
          "  unsigned long period_us; /* 0: one flash, no more. */\n"
          "  unsigned long on_us; /* 0: no flash. */\n");
  if (counts) {
    fprintf(out,
            "  unsigned long prescaler; /* 0: the timer cannot do it. */\n"
            "  unsigned long period_counts; /* The top register gets one less. "
            "*/\n"
            "  unsigned long on_counts;\n");
  }
  fprintf(out, "};\n");
}

static void
print_row(const LampReport* lamp, bool counts, FILE* out) {
  const bool     flashes = lamp_flashes(lamp);
  const VwCounts none = {.prescaler = 0};
  const VwCounts found = flashes && !lamp->counts_status ? lamp->counts : none;
  fprintf(out,
          "  {%uUL, %lldUL, %lldUL",
          lamp->slot,
          flashes ? llround(1000.0 * lamp->lamp.period_ms) : 0LL,
          lamp->status ? 0LL : llround(1000.0 * lamp->lamp.on_ms));
  if (counts) {
    fprintf(out,
            ", %uUL, %" PRIu64 "UL, %" PRIu64 "UL",
            found.prescaler,
            found.period_counts,
            found.on_counts);
  }
  fprintf(out, "}, /* %s ", prop_make_word(lamp->make));
  print_name(lamp->sound, out);
  fprintf(out, "%s */\n", lamp->status ? ": failed" : "");
}

static void
print_rows(const LampProp* prop, bool counts, FILE* out) {
  print_type(counts, out);
  fprintf(out,
          "static const struct lamp_flash lamp_flashes[LAMP_SOUNDS] = {\n");
  for (size_t i = 0; i < prop->n_lamps; ++i) {
    print_row(&prop->lamps[i], counts, out);
  }
  fprintf(out, "};\n");
}

/* All */

static void
print(const LampProp* prop, FILE* out) {
  const LampReport* const fastest = lamp_prop_fastest(prop);
  const LampReport        none = {.settings = &prop->settings};
  const VwBoard* const    board = &prop->settings.board;
  const VwCounter* const  counter = &prop->settings.lamp.counter;
  const bool              counts = counter->clock_hz > 0.0;
  fprintf(out, "/*\n * The lamps of ");
  print_name(prop->subject, out);
  fprintf(out, " on ");
  print_name(board->name, out);
  fprintf(out, ".\n");
  lamp_comment_cautions(fastest ? fastest : &none, out);
  fprintf(out, " */\n#ifndef LAMP_H_MADE\n#define LAMP_H_MADE\n");
  print_names(prop, out);
  if (counts) {
    fprintf(out,
            "\n/* Counts of a timer of %.10g Hz and %.0f bits. */\n",
            counter->clock_hz,
            prop->settings.lamp.timer_bits);
  }
  print_rows(prop, counts, out);
  if (board->delay_ms > 0.0) {
    fprintf(out,
            "\n/* From the trigger to the sound. */\n"
            "#define LAMP_HOLD_BACK_US %lldUL\n",
            llround(1000.0 * board->delay_ms));
  }
  fprintf(out, "\n#endif\n");
}

char*
lamp_prop_header(const LampProp* prop) {
  char*       text = NULL;
  size_t      n = 0;
  FILE* const out = open_memstream(&text, &n);
  if (!out) {
    return NULL;
  }
  print(prop, out);
  if (fclose(out)) {
    free(text);
    return NULL;
  }
  return text;
}
