// What is reported of a board that was gauged.

#include "card/loop.h"
#include "cli/gauging/gauging.h"
#include "cli/message/figures.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

// Steps in which figures are shown.
#define GAP_STEP_MS 0.01
#define CLOCK_STEP_PPM 0.1

/* Words */

static const char* const why_not[] = {
  [VW_GAUGED] = NULL,
  [VW_NOT_ASKED] = NULL,
  [VW_ONE_REPEAT] = "no two repeats follow each other: hold the trigger longer",
  [VW_ENDS_EARLY] = "the recording ends before the sound does: record longer",
  [VW_NO_CLICK] = "no click of the switch is heard: lay the phone nearer to it",
  [VW_SEVERAL_CLICKS] =
    "more is heard than one click a press: record it in a quiet room",
  [VW_CLICK_SMEARED] = "the click is not clear: record WAV, without what the "
                       "phone adds, and farther from walls",
  [VW_RELEASED_BETWEEN] = "let go between two repeats: record it again",
  [VW_UNLIKE] = "one press says this, another that: record it again",
  [VW_NO_SILENT_PRESS] = "every press sounded: press shorter",
  [VW_WITHIN_DELAY] = "what was silent was let go before the board sounds",
  [VW_ROUGH] = "what is heard lies too far off a line to be sure",
  [VW_EVEN] = "the loop sounds the same all along: use the test sound",
  [VW_NO_SECOND_LENGTH] =
    "it wants presses of several lengths, some too short to sound",
};

static const Choice channels_words[] = {
  {.word = "sum", .value = VW_PLAYS_SUM},
  {.word = "stereo", .value = VW_PLAYS_STEREO},
  {.word = "left", .value = VW_PLAYS_LEFT},
  {.word = "right", .value = VW_PLAYS_RIGHT},
  {.word = NULL}};

/* Figures */

/// Set why there is no figure, or why it is in doubt: no two at once.
static void
set_why(Figures* of, const char* name, const VwGauged* figure) {
  char why[40];
  (void)snprintf(why, sizeof(why), "%s_why_not", name);
  figures_set(of, why, figure->doubt ? NULL : why_not[figure->why]);
  (void)snprintf(why, sizeof(why), "%s_doubt", name);
  figures_set(of, why, figure->doubt ? why_not[figure->why] : NULL);
}

/// The word of a figure; NULL if it was not found.
static const char*
word_of(const Choice* words, const VwGauged* figure) {
  return isfinite(figure->value) ? choice_word(words, (int)figure->value)
                                 : NULL;
}

static Figures*
signs_of(const BoardGauged* gauged) {
  const VwGaugeSigns* const signs = &gauged->board.signs;
  const double              moves_db = signs->noise_moves_db;
  Figures* const            made = figures_new();
  figures_set(made, "clipped_share", signs->clipped);
  figures_set(made, "level_spread_db", signs->level_db);
  figures_set(made, "noise_db", signs->noise_db);
  figures_set(made, "noise_moves_db", moves_db);
  figures_set(made, "echo_ms", signs->echo_ms);
  figures_set(made, "echo_db", signs->echo_db);
  figures_set(made, "above_3700hz_db", signs->above_db);
  figures_set(made, "packed", vw_loop_packing(gauged->path));
  figures_set(made, "clips", signs->clipped > VW_SIGN_CLIPPED);
  figures_set(made,
              "gain_follows",
              signs->level_db > VW_SIGN_LEVEL_DB ||
                moves_db > VW_SIGN_NOISE_MOVES_DB);
  figures_set(made, "noise_taken", moves_db < -VW_SIGN_NOISE_MOVES_DB);
  figures_set(made, "echoes", signs->echo_db > VW_SIGN_ECHO_DB);
  figures_set(made, "narrow", signs->above_db < VW_SIGN_NARROW_DB);
  return made;
}

/// Set what was found.
static void
set_found(Figures* of, const BoardGauged* gauged) {
  const VwGaugedBoard* const board = &gauged->board;
  const double rate_hz = gauged->rate_hz ? (double)gauged->rate_hz : NAN;
  figures_set(of, "repeats", board->n_whole);
  figures_set(of, "presses", board->n_presses);
  figures_set(of, "one_press", board->n_presses == 1U);
  figures_set(of, "gaps", board->n_gaps);
  figures_set(of, "gap_ms", board->gap_ms.value);
  figures_set(of, "gap_error_ms", board->gap_ms.error);
  figures_set(of, "gap_jitter_ms", board->gap_jitter_ms);
  set_why(of, "gap", &board->gap_ms);
  figures_set(of, "clock_ppm", board->clock_ppm.value);
  figures_set(of, "clock_error_ppm", board->clock_ppm.error);
  figures_set(
    of, "true_sample_rate_hz", rate_hz * (1.0 + 1e-6 * board->clock_ppm.value));
  set_why(of, "clock", &board->clock_ppm);
  figures_set(of, "delay_ms", board->delay_ms.value);
  figures_set(of, "delay_spread_ms", board->delay_spread_ms);
  set_why(of, "delay", &board->delay_ms);
  figures_set(of, "press_min_ms", board->press_ms.value);
  figures_set(of, "silent_press_ms", board->silent_press_ms);
  set_why(of, "press_min", &board->press_ms);
  figures_set(of, "on_release", word_of(words_release, &board->release));
  set_why(of, "on_release", &board->release);
  figures_set(of, "plays", word_of(channels_words, &board->channels));
  set_why(of, "plays", &board->channels);
  figures_set(of, "recording_does", signs_of(gauged));
}

static Figures*
figures_of(const BoardGauged* gauged) {
  const Settings* const settings = gauged->settings;
  Figures* const        all = figures_of_command("gauge");
  figures_set(all, "gauged", "board");
  figures_set(all, "recording", gauged->path);
  figures_set(all, "board", settings->has_board ? settings->board.name : NULL);
  figures_set(all, "loop", settings->gauge.loop);
  figures_set(all, "error", figures_of_error(gauged->status, gauged->message));
  if (!gauged->status) {
    set_found(all, gauged);
  }
  figures_set(all, "saved", gauged->saved);
  figures_set(all, "saved_name", gauged->saved ? settings->gauge.save : NULL);
  return all;
}

/* Text */

static const Line lines[] = {
  {"heard",
   "{repeats} whole repeat{repeats:s}{presses?, by {presses} "
   "press{!one_press?es}}",
   NULL,
   true},
  {"gap",
   "{gap_ms:.2f} ms, +- {gap_to_ms:.2f} ms, the mean of {gaps}"
   "{gaps_vary?; jitter {gap_jitter_ms:.2f} ms}"
   "{gap_doubt?; in doubt: {gap_doubt}}",
   "gap_ms",
   true},
  {"gap", "not found: {gap_why_not}", "gap_why_not", true},
  {"clock",
   "{clock_ppm:+.1f} ppm beside the recorder's, +- {clock_to_ppm:.1f}: only "
   "their ratio is heard{true_sample_rate_hz?; by it the board plays "
   "{true_sample_rate_hz:.1f} Hz}",
   "clock_ppm",
   true},
  {"clock", "not found: {clock_why_not}", "clock_why_not", true},
  {"delay",
   "{delay_ms:.1f} ms from the click to the sound{delay_varies?, which "
   "varies by {delay_spread_ms:.1f} ms}{delay_doubt?; in doubt: {delay_doubt}}",
   "delay_ms",
   true},
  {"delay", "not found: {delay_why_not}", "delay_why_not", true},
  {"press",
   "one of {press_min_ms:.0f} ms sounds, one of {silent_press_ms:.0f} ms does "
   "not",
   "press_min_ms",
   true},
  {"press",
   "shortest not found: {press_min_why_not}",
   "press_min_why_not !delay_why_not",
   true},
  {"release", "it {on_release} when let go", "on_release", true},
  {"release", "not found: {on_release_why_not}", "on_release_why_not", true},
  {"channels", "it plays of both: {plays}", "plays", true},
  {"channels", "not found: {plays_why_not}", "plays_why_not", true},
  {"recording",
   "clipped: times hold, levels do not; record it softer",
   "recording_does.clips",
   true},
  {"recording",
   "its gain follows the level: times hold, levels do not",
   "recording_does.gain_follows",
   true},
  {"recording",
   "noise is suppressed: gap and clock hold, clicks may be lost",
   "recording_does.noise_taken",
   true},
  {"recording",
   "an echo after {recording_does.echo_ms:.1f} ms: what comes first counts",
   "recording_does.echoes",
   true},
  {"recording",
   "nothing above 3.7 kHz, as by telephone: gap and clock hold",
   "recording_does.narrow",
   true},
  {"recording",
   "packed as {recording_does.packed}: gap and clock hold, clicks less",
   "recording_does.packed",
   true},
  {"board", "{saved:q}", "saved", true},
  {NULL,
   "Next: volleyweave loop --board {saved_name:q} zap.wav",
   "saved",
   false},
  {NULL, "Keep it with --save NAME, and use it with --board NAME", "!saved"},
};

/// What words need beside.
static void
add_words(Figures* of, const VwGaugedBoard* board) {
  figures_set(of, "gap_to_ms", gauge_to(board->gap_ms.error, GAP_STEP_MS));
  figures_set(of, "gaps_vary", board->gap_jitter_ms >= 0.5 * GAP_STEP_MS);
  figures_set(
    of, "clock_to_ppm", gauge_to(board->clock_ppm.error, CLOCK_STEP_PPM));
  figures_set(
    of, "delay_varies", board->delay_spread_ms >= 0.5 * GAUGE_STEP_MS);
}

bool
gauge_board_report(const BoardGauged* gauged) {
  const Settings* const settings = gauged->settings;
  Figures* const        all = figures_of(gauged);
  if (settings->json) {
    return figures_json(all, stdout);
  }
  if (!gauged->status && !settings->quiet) {
    add_words(all, &gauged->board);
    figures_lines(all, LINES(lines), stdout);
  }
  figures_free(all);
  return true;
}
