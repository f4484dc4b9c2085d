// The lamps of all sounds of a prop: tables of at most 80 columns, and JSON.

#include "cli/lamp/lamp.h"

#include "cli/message/figures.h"
#include "cli/packing/packing.h"
#include "store/store.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

// Of a line, and of the slot before a name.
#define COLUMNS 80
#define SLOT_COLUMNS 7

/// A prop and its boards.
typedef struct {
  const CommandName* command;
  const Settings*    settings;
  PackSource         source;
  PackBoards         boards;
  unsigned           cautioned; ///< What was said.
} Job;

/// What is reported of a prop on one board.
typedef struct {
  Settings    settings; ///< As given, and the board. Owns nothing.
  const char* subject;  ///< The prop, as given.
  LampReport* lamps;    ///< One for each sound, in their order. Owned.
  size_t      n_lamps;
  bool        packed;    ///< The pack is made, and nothing has changed since.
  bool        own;       ///< It says how its lamp is built.
  unsigned*   cautioned; ///< What was said of another board.
  unsigned    cautions;  ///< Those of the lamp that needs the strongest.
} LampProp;

/// A column of a table.
typedef struct {
  const char* head;
  int         width; ///< Negative: set to the left.
  const char* words; ///< With figures of a lamp in them.
} Column;

/// A table, behind slot and name.
typedef struct {
  int           name_columns; ///< A longer name has a line of its own.
  const Column* columns;
  size_t        n_columns;
  bool          all; ///< Of those too that do not flash again and again.
} Table;

/* Tables */

/// A name in so many columns, or on a line of its own.
static void
print_name(const char* name, int columns, FILE* out) {
  char* const safe = text_safe(name);
  int         n = (int)text_cut(safe, COLUMNS - SLOT_COLUMNS, out);
  if (n > columns) {
    fprintf(out, "\n%*s", SLOT_COLUMNS, "");
    n = 0;
  }
  fprintf(out, "%*s ", columns - n, "");
  free(safe);
}

/// Print the cells of a row, or the heads of all. No line ends in blanks.
static void
print_cells(const Table* table, const Figures* told, FILE* out) {
  int n_blanks = 0;
  for (size_t i = 0; i < table->n_columns; ++i) {
    const Column* const column = &table->columns[i];
    char* const         cell = told ? figures_words(told, column->words)
                                    : text_format("%s", column->head);
    const int           n = cell ? (int)strlen(cell) : 0;
    const int           width = abs(column->width);
    const int           pad = width > n ? width - n : 0;
    n_blanks += column->width > 0 ? pad : 0;
    if (n) {
      fprintf(out, "%*s%s", n_blanks, "", cell);
      n_blanks = 0;
    }
    n_blanks += 1 + (column->width < 0 ? pad : 0);
    free(cell);
  }
  fputc('\n', out);
}

static void
print_table(const Table* table, const LampProp* prop, FILE* out) {
  fprintf(out, "\n%5s  %-*s ", "slot", table->name_columns, "sound");
  print_cells(table, NULL, out);
  for (size_t i = 0; i < prop->n_lamps; ++i) {
    const LampReport* const lamp = &prop->lamps[i];
    if (!table->all && !lamp_flashes(lamp)) {
      continue;
    }
    Figures* const told = lamp_told(lamp);
    if (lamp->slot) {
      fprintf(out, "%5u  ", lamp->slot);
    } else {
      fprintf(out, "%5s  ", "-");
    }
    print_name(lamp->sound, table->name_columns, out);
    print_cells(table, told, out);
    figures_free(told);
  }
  fputc('\n', out);
}

/* What they tell */

static const Column flash_columns[] = {
  {"what", -5, "{error?failed}{!error?{make}}"},
  {"fires", 12, "{flashes?{lamp.pulse_hz:r}/s}{!flashes !error?{lone}}"},
  {"period us",
   10,
   "{lamp.uneven?uneven}"
   "{flashes !lamp.uneven?{microcontroller.period_us}}{lamp !flashes?-}"},
  {"on us", 9, "{lamp?{on_us:.0f}}"},
  {"duty", 6, "{flashes?{lamp.duty:%}}"},
  {" on-time", -8, "{lamp? {lamp.on_reason}}"},
};

static const Column timer_columns[] = {
  {"C", -7, "{timer.c}"},
  {"fixed", -12, "{timer.trims_ra?RB}{!timer.trims_ra?RA} {timer.plain}"},
  {"with the trimmer",
   -23,
   "{timer.trims_ra?RA}{!timer.trims_ra?RB} {timer.fixed} + {timer.whole}"},
  {"set to", -10, "{timer.set}"},
  {"on ms", 5, "{timer.on_ms.middle:.1f}{timer.no_diode?*}"},
};

static const Column count_columns[] = {
  {"prescaler",
   9,
   "{microcontroller.error?{microcontroller.error.message}}"
   "{microcontroller.counts?{microcontroller.counts.prescaler}}"},
  {"period",
   10,
   "{microcontroller.counts?{microcontroller.counts.period_counts}}"},
  {"on", 10, "{microcontroller.counts?{microcontroller.counts.on_counts}}"},
  {"ppm off",
   9,
   "{microcontroller.counts?{microcontroller.counts.error_ppm:.3g}}"},
};

static const Table flash_table = {17, LINES(flash_columns), true};
static const Table timer_table = {11, LINES(timer_columns), false};
static const Table count_table = {20, LINES(count_columns), false};

static const Line heading[] = {
  {NULL, "Lamps for {subject} on {board}"},
};

static const Line after_flashes[] = {
  {"note",
   "not packed as it stands: the files of an earlier pack may flash otherwise",
   "!packed",
   true},
};

// The timer's figures are those of the first lamp that flashes again and again.
static const Line before_timers[] = {
  {"lamp track",
   "{tracks}: channel 2 switches the lamp, nothing has to be set",
   "tracks",
   true},
  {"rapid fire",
   "there is none in it: `make = loop` fires the shots of a sound again and "
   "again",
   "!first !rapid",
   true},
  {NULL,
   "\nTimer chip (555), {first.timer.chip_name}, at {first.timer.supply_v:.1f} "
   "V, {two?two resistors}{!two?a diode across RB}",
   "first"},
};

static const Line after_timers[] = {
  {"*", "two resistors, without a diode", "starred"},
};

static const Line before_counts[] = {
  {"build",
   "`volleyweave lamp --supply {first.timer.supply_v:.4g}V "
   "{two?--wiring two-resistors }--on-time "
   "{first.lamp.on_ms:.4g} {first.lamp.pulse_hz:r}/s`{own?, "
   "with the options under [lamp],} says how to build and set it",
   NULL,
   true},
  {"program",
   "a microcontroller with the times above; counts of its timer with --clock, "
   "as in --clock 12MHz",
   "!first.clocked",
   true},
  {NULL,
   "\nMicrocontroller, a timer of {first.clock} Hz and {first.bits:.0f} bits",
   "first.clocked"},
};

/// What JSON tells of all of them.
static Figures*
figures_of(const LampProp* prop) {
  Figures* const all = figures_of_command("lamp");
  figures_set(all, "subject", prop->subject);
  figures_set(all, "board", prop->settings.board.name);
  figures_set(all, "packed", prop->packed);
  figures_set(all, "cautions", caution_figures(prop->cautions));
  return all;
}

/// Add a sound to a list, by its slot or else its name. Frees `list`.
static char*
list_add(char* list, const LampReport* lamp) {
  char* const name = lamp->slot ? text_format("%u", lamp->slot) : NULL;
  char* const longer = text_more(list, ", ", "%s", name ? name : lamp->sound);
  free(name);
  return longer;
}

/// The same, and what words need beside.
static Figures*
told_of(const LampProp* prop) {
  const LampReport* first = NULL;
  char*             tracks = NULL;
  bool              starred = false;
  bool              rapid = false;
  for (size_t i = 0; i < prop->n_lamps; ++i) {
    const LampReport* const lamp = &prop->lamps[i];
    first = !first && lamp_flashes(lamp) ? lamp : first;
    tracks = lamp->track.pulses ? list_add(tracks, lamp) : tracks;
    starred |= lamp->no_diode != VW_OK;
    rapid |= (lamp->make == VW_MAKE_LOOP || lamp->make == VW_MAKE_BURST) &&
             (lamp->status || lamp->lamp.on_ms > 0.0);
  }
  Figures* const all = figures_of(prop);
  figures_set(all, "first", first ? lamp_told(first) : NULL);
  figures_set_made(all, "tracks", tracks);
  figures_set(all, "starred", starred);
  figures_set(all, "rapid", rapid);
  figures_set(all, "own", prop->own);
  figures_set(
    all, "two", prop->settings.lamp.wiring == VW_WIRING_TWO_RESISTORS);
  return all;
}

/// What the words of the last column mean.
static void
print_reasons(const LampProp* prop, FILE* out) {
  for (int reason = VW_ON_USUAL; reason <= VW_ON_HALF; ++reason) {
    bool is = false;
    for (size_t i = 0; i < prop->n_lamps; ++i) {
      const LampReport* const lamp = &prop->lamps[i];
      is |= !lamp->status && lamp->lamp.on_ms > 0.0 &&
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
print_uneven(const LampProp* prop, FILE* out) {
  for (size_t i = 0; i < prop->n_lamps; ++i) {
    if (prop->lamps[i].beat.shots > 1U) {
      Figures* const told = lamp_told(&prop->lamps[i]);
      char* const    words = figures_words(told, "{sound}: " LAMP_UNEVEN);
      line_wrap(out, "uneven", words);
      free(words);
      figures_free(told);
    }
  }
}

static void
print_parts(const LampProp* prop, const Figures* told, FILE* out) {
  print_table(&timer_table, prop, out);
  figures_lines(told, LINES(after_timers), out);
  lamp_led_text(figures_at(told, "first.timer.led"), out);
  figures_lines(told, LINES(before_counts), out);
  if (figures_hold(told, "first.clocked")) {
    print_table(&count_table, prop, out);
  }
}

static void
print_text(const LampProp* prop, FILE* out) {
  Figures* const told = told_of(prop);
  figures_lines(told, LINES(heading), out);
  print_table(&flash_table, prop, out);
  print_reasons(prop, out);
  print_uneven(prop, out);
  caution_lines(
    prop->cautions & ~(unsigned)VW_CAUTION_WIRING, prop->cautioned, out);
  figures_lines(told, LINES(after_flashes), out);
  lamp_hold_back_text(&prop->settings.board, false, out);
  figures_lines(told, LINES(before_timers), out);
  if (figures_hold(told, "first")) {
    print_parts(prop, told, out);
  }
  caution_lines(prop->cautions & VW_CAUTION_WIRING, prop->cautioned, out);
  fputc('\n', out);
  figures_free(told);
}

/// Print a line of JSON for each sound, and one for the prop. False without
/// memory.
static bool
print_json(const LampProp* prop, FILE* out) {
  bool good = true;
  for (size_t i = 0; good && i < prop->n_lamps; ++i) {
    good = figures_json(lamp_figures(&prop->lamps[i]), out);
  }
  return figures_json(figures_of(prop), out) && good;
}

bool
lamp_prop_is(const char* word) {
  return vw_path_ends_in(word, ".ini") || vw_path_is_folder(word);
}

/* One sound */

/// False, and said, if a lamp cannot be on for as long as was asked.
static bool
set_flashes(const VwPackSound* sound, LampReport* report) {
  const VwFamily* const family = &sound->family;
  const double          duty = report->settings->lamp.duty;
  if (report->make == VW_MAKE_SHOT) {
    report->on_time = vw_on_time_of_shot(&sound->options);
    report->lamp.on_ms = report->on_time.on_ms;
    return true;
  }
  report->on_time = family->on_time;
  report->lamp = family->lamp;
  if (duty > 0.0) {
    report->on_time.on_ms = duty * report->lamp.period_ms;
    report->on_time.reason = VW_ON_ASKED;
    report->lamp = vw_lamp_with(report->lamp.pulse_hz, report->on_time.on_ms);
  }
  if (report->make == VW_MAKE_LOOP) {
    report->plan = family->plan;
  }
  report->track = family->lamp_track;
  return lamp_find(report);
}

/* One board */

static bool
take_figures(const VwPack* pack, LampProp* prop) {
  bool good = true;
  prop->packed = !pack->sums.n_other && !pack->sums.n_failed;
  for (size_t i = 0; i < pack->n_sounds; ++i) {
    const VwPackSound* const sound = &pack->sounds[i];
    LampReport* const        report = &prop->lamps[i];
    report->settings = &prop->settings;
    report->subject = prop->subject;
    report->source = LAMP_FROM_PROP;
    report->sound = sound->wish->name;
    report->slot = sound->wish->slot;
    report->make = sound->wish->make;
    report->status = sound->status;
    // What sounds on has no shots, and lights no lamp.
    good &= sound->status ||
            (report->make != VW_MAKE_SHOT && !sound->family.plan.shots) ||
            set_flashes(sound, report);
  }
  return good;
}

/// The cautions of a lamp that flashes fast by itself come before those of one
/// whose timer may, and these before those of slow ones.
static unsigned
cautions_of(const LampProp* prop) {
  const LampReport none = {.settings = &prop->settings};
  unsigned         all = lamp_cautions(&none);
  for (size_t i = 0; i < prop->n_lamps; ++i) {
    all |= lamp_flashes(&prop->lamps[i]) ? lamp_cautions(&prop->lamps[i]) : 0U;
  }
  return all & VW_CAUTION_LAMP_FLASH ? all & ~(unsigned)VW_CAUTION_UNTRIMMED
                                     : all;
}

static int
report_pack(const PackRun* run, LampProp* prop) {
  const size_t n_failed = pack_run_say_failures(run);
  if (!take_figures(&run->pack, prop)) {
    return EXIT_USAGE;
  }
  prop->cautions = cautions_of(prop);
  if (prop->settings.json && !print_json(prop, stdout)) {
    say_status(prop->subject, VW_NO_MEMORY);
    return EXIT_FILE;
  }
  if (!prop->settings.json && !prop->settings.quiet) {
    print_text(prop, stdout);
  }
  return n_failed ? EXIT_FILE : EXIT_DONE;
}

static int
report_board(Job* job, size_t index) {
  const VwBoard* const board = &job->boards.boards[index];
  char* const folder = pack_folder(job->settings, &job->source.prop, board);
  PackRun     run = {.command = job->command,
                     .settings = job->settings,
                     .prop = &job->source.prop,
                     .board = board,
                     .folder = folder,
                     .found_lufs = prop_loudness_found(&job->source.prop)};
  LampProp    prop = {
       .settings = *job->settings,
       .cautioned = &job->cautioned,
       .subject = job->settings->takes[0],
       .n_lamps = job->source.prop.n_sounds,
       .lamps = calloc(job->source.prop.n_sounds + 1U, sizeof(LampReport))};
  int status = EXIT_FILE;
  prop.own = job->source.prop.lamp.n_options != 0U;
  prop_lamp(&job->source.prop, &prop.settings);
  prop.settings.has_board = true;
  prop.settings.board = *board;
  if (!folder || !prop.lamps) {
    say_status(board->name, VW_NO_MEMORY);
  } else if (pack_run_try(&run)) {
    status = report_pack(&run, &prop);
    // The next board keeps to it, as when it is packed.
    job->source.prop.loudness_found_lufs = run.found_lufs;
    job->source.prop.loudness_found_of = 0U;
  }
  pack_run_clear(&run);
  free(prop.lamps);
  return status;
}

/* All boards */

/// Refuse what asks for something else than a table.
static int
check_options(const Settings* settings) {
  if (vw_path_ends_in(settings->takes[0], ".board.ini")) {
    return say_usage(settings->takes[0],
                     "a board: name it with --board, beside a fire rate, a "
                     "loop or a sound list");
  }
  if (settings_is_given(settings, "gap")) {
    return say_usage("--gap",
                     "a prop's boards have gaps of their own: write it into "
                     "the board's file");
  }
  const char* const of_one = settings->lamp.brightness_steps > 0.0
                               ? "--brightness-steps"
                             : settings->lamp.header          ? "--header"
                             : settings->plot                 ? "--plot"
                             : settings->family.find.has_kind ? "--as"
                                                              : NULL;
  return of_one ? say_usage(of_one,
                            "it is of one sound: give the loop of one of them "
                            "instead of the prop, or its fire rate, as in "
                            "`volleyweave lamp 9/s`")
                : EXIT_DONE;
}

static int
report_boards(Job* job) {
  int status = job->source.n_failed ? EXIT_FILE : EXIT_DONE;
  if (!pack_boards_check(job->settings, &job->boards, &job->source.prop)) {
    return EXIT_FILE;
  }
  for (size_t i = 0; i < job->boards.n_boards; ++i) {
    const int of_board = report_board(job, i);
    status = of_board == EXIT_DONE ? status : of_board;
  }
  return status;
}

int
lamp_prop(const CommandName* command, const Settings* settings) {
  Job job = {.command = command, .settings = settings};
  int status = check_options(settings);
  if (status == EXIT_DONE) {
    status = pack_source_read(settings, &job.source);
  }
  if (status == EXIT_DONE) {
    status = pack_boards_find(command, settings, &job.source.prop, &job.boards);
  }
  if (status == EXIT_DONE) {
    status = report_boards(&job);
  }
  pack_boards_clear(&job.boards);
  pack_source_clear(&job.source);
  return status;
}
