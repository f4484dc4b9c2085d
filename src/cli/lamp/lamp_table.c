// The lamps of a prop as tables of at most 80 columns.

#include "base/text.h"
#include "cli/lamp/lamp_prop.h"

#include "cli/message/line.h"
#include "cli/message/status.h"
#include "cli/message/text.h"
#include "cli/message/words.h"
#include "cli/prop/prop.h"
#include "lamp/lamp.h"
#include "pack/pack.h"

#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

// Of a line, and of the slot before a name.
#define COLUMNS 80
#define SLOT_COLUMNS 7

/// A table: what it tells of a lamp, behind slot and name.
typedef struct {
  int         name_columns; ///< A longer name has a line of its own.
  const char* head;
  void (*row)(const LampReport* lamp, FILE* out);
} Table;

/* Slot and name */

static void
print_head(const Table* table, FILE* out) {
  fprintf(
    out, "\n%5s  %-*s %s\n", "slot", table->name_columns, "sound", table->head);
}

/// A name in so many columns, or on a line of its own.
static void
print_name(const char* name, int columns, FILE* out) {
  char* const safe = text_safe(name);
  const char* at = safe ? safe : "?";
  int         n = 0;
  for (; *at && n < COLUMNS - SLOT_COLUMNS; ++n) {
    const unsigned length = vw_utf8_read(at, NULL);
    fprintf(out, "%.*s", (int)(length ? length : 1U), at);
    at += length ? length : 1U;
  }
  if (n > columns) {
    fprintf(out, "\n%*s", SLOT_COLUMNS, "");
    n = 0;
  }
  fprintf(out, "%*s ", columns - n, "");
  free(safe);
}

static void
print_row(const Table* table, const LampReport* lamp, FILE* out) {
  if (lamp->slot) {
    fprintf(out, "%5u  ", lamp->slot);
  } else {
    fprintf(out, "%5s  ", "-");
  }
  print_name(lamp->sound, table->name_columns, out);
  table->row(lamp, out);
  fputc('\n', out);
}

/// Print those that flash again and again.
static void
print_table(const Table* table, const LampProp* prop, FILE* out) {
  print_head(table, out);
  for (size_t i = 0; i < prop->n_lamps; ++i) {
    if (lamp_flashes(&prop->lamps[i])) {
      print_row(table, &prop->lamps[i], out);
    }
  }
  fputc('\n', out);
}

/// The slot, or else the name, of a sound that is spoken of. To be freed.
static char*
called(const LampReport* lamp) {
  return lamp->slot ? text_format("%u", lamp->slot) : text_safe(lamp->sound);
}

/// Add a sound to a list of them: "1, 2, 5". Frees `list`.
static char*
list_add(char* list, const LampReport* lamp) {
  char* const name = called(lamp);
  char* const longer = text_format(
    "%s%s%s", list ? list : "", list ? ", " : "", name ? name : "?");
  free(name);
  free(list);
  return longer;
}

/* Flashes */

static void
flash_row(const LampReport* lamp, FILE* out) {
  if (lamp->status) {
    fputs("failed", out);
    return;
  }
  fprintf(out, "%-5s ", choice_word(words_make, (int)lamp->make));
  if (lamp->make == VW_MAKE_WHOLE) {
    fputs("    no flash", out);
  } else if (!lamp_flashes(lamp)) {
    fprintf(out,
            "%12s %10s %10.0f        %s",
            "one flash",
            "-",
            1000.0 * lamp->lamp.on_ms,
            choice_word(words_on_reason, (int)lamp->on_time.reason));
  } else {
    fprintf(out,
            "%10.4g/s %10.0f %10.0f %4.0f %%  %s",
            lamp->lamp.pulse_hz,
            1000.0 * lamp->lamp.period_ms,
            1000.0 * lamp->lamp.on_ms,
            100.0 * lamp->lamp.duty,
            choice_word(words_on_reason, (int)lamp->on_time.reason));
  }
}

/// What the words of the last column mean.
static void
print_reasons(const LampProp* prop, FILE* out) {
  for (int reason = VW_ON_USUAL; reason <= VW_ON_HALF; ++reason) {
    bool is = false;
    for (size_t i = 0; i < prop->n_lamps; ++i) {
      const LampReport* const lamp = &prop->lamps[i];
      is |= !lamp->status && lamp->make != VW_MAKE_WHOLE &&
            (int)lamp->on_time.reason == reason;
    }
    if (is) {
      line_wrap(out,
                choice_word(words_on_reason, (int)reason),
                choice_word(words_on_because, (int)reason));
    }
  }
}

static void
print_flashes(const LampProp* prop, FILE* out) {
  static const Table table = {
    17, "what         fires  period us     on us   duty  on-time", flash_row};
  print_head(&table, out);
  for (size_t i = 0; i < prop->n_lamps; ++i) {
    print_row(&table, &prop->lamps[i], out);
  }
  fputc('\n', out);
  print_reasons(prop, out);
  if (!prop->packed) {
    line_wrap(out,
              "note",
              "not packed as it stands: the files of an earlier pack may flash "
              "otherwise");
  }
  lamp_hold_back_text(&prop->settings.board, out);
}

/* Timer */

static void
timer_row(const LampReport* lamp, FILE* out) {
  const LampTimer* const of = &lamp->timer;
  const VwTimer* const   timer = &of->timer;
  char                   c[40];
  char                   plain[40];
  char                   fixed[40];
  char                   trimmer[40];
  char                   set[40];
  char* const            both = text_format("%s %s + %s",
                                 timer->trims_ra ? "RA" : "RB",
                                 lamp_ohm(fixed, timer->fixed_ohm),
                                 lamp_ohm(trimmer, timer->trimmer_ohm));
  fprintf(out,
          "%-7s %s %-9s %-23s %-10s %4.1f%s",
          lamp_farad(c, timer->c_farad),
          timer->trims_ra ? "RB" : "RA",
          lamp_ohm(plain, timer->plain_ohm),
          both ? both : "?",
          lamp_ohm(set, timer->set_ohm),
          timer->on_ms.middle,
          lamp->no_diode ? "*" : "");
  free(both);
}

/// The first lamp that flashes again and again, or NULL.
static const LampReport*
first_flashing(const LampProp* prop) {
  for (size_t i = 0; i < prop->n_lamps; ++i) {
    if (lamp_flashes(&prop->lamps[i])) {
      return &prop->lamps[i];
    }
  }
  return NULL;
}

static void
print_timers(const LampProp* prop, const LampReport* first, FILE* out) {
  const VwTimerWish* const wish = &first->timer.wish;
  bool                     plain = false;
  char                     volts[40];
  static const Table       table = {
          11,
          "C       fixed        with the trimmer        set to    on ms",
          timer_row};
  fprintf(out,
          "\nTimer chip (555), %s, at %s, %s\n",
          wish->chip == VW_CHIP_CMOS ? "CMOS" : "bipolar",
          line_value(volts, wish->supply_v, 1, "V"),
          prop->settings.lamp.wiring == VW_WIRING_TWO_RESISTORS
            ? "two resistors"
            : "a diode across RB");
  print_table(&table, prop, out);
  for (size_t i = 0; i < prop->n_lamps; ++i) {
    plain |= prop->lamps[i].no_diode != VW_OK;
  }
  if (plain) {
    line_print(out, "*", "two resistors, without a diode");
  }
  lamp_led_text(&first->timer, out);
  line_wrap_made(out,
                 "build",
                 text_format("`volleyweave lamp --supply %.4gV --on-time %.4g "
                             "%.6g/s` tells how to build and to set it",
                             wish->supply_v,
                             first->lamp.on_ms,
                             first->lamp.pulse_hz));
}

/* Microcontroller */

static void
counts_row(const LampReport* lamp, FILE* out) {
  if (lamp->counts_status) {
    char* const why = status_message(lamp->counts_status);
    fputs(why ? why : "?", out);
    free(why);
    return;
  }
  fprintf(out,
          "%9u %10" PRIu64 " %10" PRIu64 " %9.3g",
          lamp->counts.prescaler,
          lamp->counts.period_counts,
          lamp->counts.on_counts,
          lamp->counts.error_ppm);
}

static void
print_counts(const LampProp* prop, const LampReport* first, FILE* out) {
  static const Table table = {
    20, "prescaler     period         on   ppm off", counts_row};
  if (!first->has_counts) {
    line_wrap(
      out,
      "program",
      "a microcontroller with the times above; counts of its timer with "
      "--clock, as in --clock 12MHz");
    return;
  }
  fprintf(out,
          "\nMicrocontroller, a timer of %.10g Hz and %.0f bits\n",
          prop->settings.lamp.counter.clock_hz,
          prop->settings.lamp.timer_bits);
  print_table(&table, prop, out);
}

/* All */

/// Which sounds have a track of their own.
static void
print_tracks(const LampProp* prop, FILE* out) {
  char* list = NULL;
  for (size_t i = 0; i < prop->n_lamps; ++i) {
    if (prop->lamps[i].track.pulses) {
      list = list_add(list, &prop->lamps[i]);
    }
  }
  if (list) {
    line_wrap_made(out,
                   "lamp track",
                   text_format("%s: channel 2 switches the lamp, nothing has "
                               "to be set",
                               list));
  }
  free(list);
}

/// Whether any sound is rapid fire, or would be.
static bool
wants_rapid_fire(const LampProp* prop) {
  bool wants = false;
  for (size_t i = 0; i < prop->n_lamps; ++i) {
    const VwMake make = prop->lamps[i].make;
    wants |= make == VW_MAKE_LOOP || make == VW_MAKE_BURST;
  }
  return wants;
}

void
lamp_table(const LampProp* prop, FILE* out) {
  const LampReport* const fastest = lamp_prop_fastest(prop);
  const LampReport* const first = first_flashing(prop);
  char* const             subject = text_safe(prop->subject);
  const char*             caution = NULL;
  fprintf(out,
          "Lamps for %s on %s\n",
          subject ? subject : "it",
          prop->settings.board.name);
  free(subject);
  print_flashes(prop, out);
  print_tracks(prop, out);
  if (first) {
    print_timers(prop, first, out);
    print_counts(prop, first, out);
  } else if (!wants_rapid_fire(prop)) {
    line_wrap(out,
              "rapid fire",
              "there is none in it: `make = loop` fires the shots of a sound "
              "again and again");
  }
  const LampReport none = {.settings = &prop->settings};
  for (size_t i = 0; (caution = lamp_caution(fastest ? fastest : &none, i));
       ++i) {
    line_wrap(out, "CAUTION", caution);
  }
  fputc('\n', out);
}
