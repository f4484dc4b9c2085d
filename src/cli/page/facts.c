#include "cli/page/page.h"

#include "board/board.h"
#include "cli/lamp/lamp.h"
#include "cli/message/figures.h"
#include "pack/pack.h"

#include <math.h>
#include <stdlib.h>

// A sound's level over time, small enough for a line of a table.
#define N_STRETCHES 96U
#define LOWEST_DB -60.0

/* Boards */

Figures*
facts_of_board(const TryoutBoard* shown) {
  const VwBoard* const    board = shown->board;
  const VwPackSums* const sums = shown->sums;
  Figures* const          made = figures_new();
  figures_set(made, "name", shown->known ? board->name : NULL);
  figures_set(made, "error", shown->error);
  figures_set(made, "repeat", choice_word(words_repeat, (int)board->repeat));
  figures_set(made, "release", choice_word(words_release, (int)board->release));
  figures_set(made, "gapMs", board->gap_ms);
  figures_set(made, "delayMs", board->delay_ms);
  figures_set(made, "pressMinMs", board->press_min_ms);
  figures_set(made, "capacityBytes", board->capacity_bytes);
  figures_set(
    made, "clusterBytes", board->cluster_bytes ? board->cluster_bytes : 1U);
  figures_set(
    made, "bytesOnCard", sums ? (double)sums->n_bytes_on_card : (double)NAN);
  figures_set(
    made, "bytesOver", sums ? (double)sums->n_bytes_over : (double)NAN);
  figures_set(made, "files", sums ? (double)sums->n_files : (double)NAN);
  figures_set(made, "loudnessLufs", sums ? sums->loudness_lufs : (double)NAN);
  return made;
}

/* The lamp of a sound */

/// The parts about a timer chip that make a lamp flash so, and where its
/// trimmer stands, as `lamp` finds them; NULL where there are none.
static Figures*
parts_of(const Settings* settings, const VwLamp* lamp) {
  LampReport report = {.settings = settings, .lamp = *lamp};
  char       text[40];
  if (!lamp_find(&report)) {
    return NULL;
  }
  const LampTimer* const of = &report.timer;
  const VwTimer* const   timer = &of->timer;
  Figures* const         made = figures_new();
  figures_set(made, "supply", line_value(text, of->wish.supply_v, 1, "V"));
  figures_set(made, "c", lamp_farad(text, timer->c_farad));
  figures_set(made, "plain", lamp_ohm(text, timer->plain_ohm));
  figures_set(made, "fixed", lamp_ohm(text, timer->fixed_ohm));
  figures_set(made, "trimmer", lamp_ohm(text, timer->trimmer_ohm));
  figures_set(made, "set", lamp_set_ohm(text, timer->set_ohm));
  figures_set(
    made, "led", of->led.status ? NULL : lamp_ohm(text, of->led.led.next_ohm));
  figures_set(made,
              "base",
              of->led.led.base_ohm > 0.0 ? lamp_ohm(text, of->led.led.base_ohm)
                                         : NULL);
  figures_set(made, "diode", timer->wiring == VW_WIRING_DIODE);
  figures_set(made, "trimsRa", timer->trims_ra);
  figures_set(made, "litWhileLow", timer->lit_while_low);
  figures_set(made, "ratePerS", timer->rate_hz.middle);
  figures_set(made, "onMs", timer->on_ms.middle);
  return made;
}

static void
set_lamp(Figures*           made,
         const TryoutSound* sound,
         const VwRehearsal* rehearsal) {
  const bool   rapid = rehearsal->fire_rate_per_s > 0.0;
  const VwLamp usual = vw_lamp(rapid ? rehearsal->fire_rate_per_s : 1.0);
  const double on_ms =
    rehearsal->lamp_on_ms > 0.0 ? rehearsal->lamp_on_ms : usual.on_ms;
  const VwLamp lamp =
    rapid ? vw_lamp_with(rehearsal->fire_rate_per_s, on_ms) : usual;
  // What holds no shot lights no lamp.
  figures_set(
    made, "lampOnS", rehearsal->main.n_shots ? on_ms / 1000.0 : (double)NAN);
  figures_set(made,
              "loneFlash",
              rapid ? NULL : words_flash[rehearsal->main.n_shots != 0U]);
  figures_set(made,
              "lampParts",
              rapid && !sound->track ? parts_of(sound->settings, &lamp) : NULL);
}

/* What is played */

static unsigned
level_of(const VwSound* sound, size_t from, size_t to) {
  double most = 0.0;
  for (size_t i = from * sound->n_channels; i < to * sound->n_channels; ++i) {
    most = fmax(most, fabs((double)sound->values[i]));
  }
  const double db = most > 0.0 ? 20.0 * log10(most) : LOWEST_DB;
  return (unsigned)lround(fmin(fmax(db, LOWEST_DB), 0.0) - LOWEST_DB);
}

/// The peak in each of 96 equal stretches, whole dB above -60 dBFS.
static Figures*
outline_of(const VwSound* sound) {
  Figures* const made = figures_list();
  for (size_t i = 0; i < N_STRETCHES; ++i) {
    const size_t from = i * sound->n_frames / N_STRETCHES;
    const size_t to = (i + 1U) * sound->n_frames / N_STRETCHES;
    figures_add(made, level_of(sound, from, to));
  }
  return made;
}

/// A file of a rehearsal by its index, and its name in a page; NULL where there
/// is none.
static const VwPlayed*
file_of(const VwRehearsal* rehearsal, size_t index, const char** name) {
  static const char* const names[] = {"main", "runIn", "ringOut"};
  const VwPlayed* const    files[] = {
       &rehearsal->main, &rehearsal->run_in, &rehearsal->ring_out};
  *name = names[index];
  return files[index]->sound ? files[index] : NULL;
}

static Figures*
files_of(const VwRehearsal* rehearsal) {
  Figures* const files = figures_new();
  for (size_t i = 0; i < 3U; ++i) {
    const char*           name = NULL;
    const VwPlayed* const file = file_of(rehearsal, i, &name);
    Figures* const        made = file ? figures_new() : NULL;
    Figures* const        shots = file ? figures_list() : NULL;
    for (size_t k = 0; file && k < file->n_shots; ++k) {
      figures_add(shots, file->shots[k]);
    }
    if (file) {
      figures_set(made, "nFrames", file->sound->n_frames);
      figures_set(made, "shots", shots);
      figures_set(files, name, made);
    }
  }
  return files;
}

static Figures*
rehearsal_of(const TryoutSound* sound, const VwRehearsal* rehearsal) {
  if (!rehearsal) {
    return NULL;
  }
  const VwSound* const main = rehearsal->main.sound;
  const double         fire_rate = rehearsal->fire_rate_per_s;
  Figures* const       made = figures_new();
  figures_set(
    made, "repeat", choice_word(words_repeat, (int)rehearsal->repeat));
  figures_set(made, "rateHz", main->rate_hz);
  figures_set(made, "channels", main->n_channels);
  figures_set(made, "codes", tryout_codes_word(sound->encoding));
  figures_set(made, "loopStart", rehearsal->loop_start);
  figures_set(made, "loopEnd", rehearsal->loop_end);
  figures_set(made, "fireRatePerS", fire_rate > 0.0 ? fire_rate : (double)NAN);
  set_lamp(made, sound, rehearsal);
  figures_set(made, "outline", outline_of(main));
  figures_set(made, "files", files_of(rehearsal));
  return made;
}

/* What a burst is laid anew from */

static void
set_format(Figures* made, const TryoutRelay* relay) {
  const VwFamilyOptions* const options = relay->options;
  const VwFormat* const        format = &options->format;
  const unsigned               n_value = tryout_codes_bytes(format->encoding);
  const unsigned               n_frame = n_value * format->n_channels;
  const unsigned               frame_unit = n_frame % 2U ? 2U : 1U;
  const bool                   bursts = options->form == VW_FORM_BURST;
  const unsigned               buffer = bursts ? 1U : options->buffer_frames;
  figures_set(made, "bytesPerFrame", n_frame);
  figures_set(made, "frameUnit", frame_unit);
  figures_set(
    made, "loopUnit", buffer % frame_unit ? buffer * frame_unit : buffer);
  figures_set(made, "coarse", n_value < 3U);
  figures_set(made, "ceiling", pow(10.0, options->level.ceiling_dbtp / 20.0));
}

static Figures*
options_of(const TryoutRelay* relay) {
  Figures* const made = figures_new();
  figures_set(made, "fireRatePerS", relay->fire_rate_per_s);
  figures_set(made, "valleyDb", relay->options->valley_db);
  figures_set(made, "tail", choice_word(words_tail, (int)relay->options->tail));
  figures_set(made, "shots", relay->options->shots);
  return made;
}

static Figures*
relay_of(const TryoutRelay* relay) {
  if (!relay) {
    return NULL;
  }
  const VwFamilyOptions* const options = relay->options;
  Figures* const               made = figures_new();
  figures_set(made, "rateHz", relay->alone->rate_hz);
  figures_set(made, "channels", relay->alone->n_channels);
  figures_set(made, "crestFrame", relay->use->crest_frame);
  figures_set(made, "nearCrestFrame", relay->use->near_crest_frame);
  figures_set(made, "form", vw_form_name(options->form));
  figures_set(made, "burstShots", options->burst_shots);
  figures_set(made, "gapMs", options->gap_ms);
  figures_set(made, "cycleMaxS", options->cycle_max_s);
  figures_set(made, "runInMaxS", options->run_in_max_s);
  figures_set(made, "fileBytesMax", options->file_bytes_max);
  set_format(made, relay);
  figures_set(made, "options", options_of(relay));
  figures_set(made, "command", relay->command);
  figures_set(made, "take", relay->take);
  return made;
}

/* Sounds */

Figures*
facts_of_sound(const TryoutSound* sound, bool heard) {
  Figures* const made = figures_new();
  figures_set(made, "board", sound->board);
  figures_set(made, "family", sound->family);
  figures_set(made, "name", sound->name);
  figures_set(made, "group", sound->group);
  figures_set(made, "slot", sound->slot);
  figures_set(made, "bytes", sound->n_bytes);
  figures_set(made, "heard", heard);
  figures_set(made, "track", sound->track);
  figures_set(made, "error", sound->error);
  figures_set(made, "madeBy", sound->made_by);
  figures_set(made, "madeWith", sound->made_with);
  figures_set(made, "report", figures_read(sound->report));
  figures_set(made, "single", rehearsal_of(sound, sound->single));
  figures_set(made, "rapid", rehearsal_of(sound, sound->rapid));
  figures_set(made, "relay", relay_of(heard ? sound->relay : NULL));
  figures_set(made, "unlaid", sound->unlaid);
  return made;
}

static Figures*
codes_of(const VwRehearsal* rehearsal, VwEncoding encoding) {
  Figures* const made = figures_new();
  for (size_t i = 0; rehearsal && i < 3U; ++i) {
    const char*           name = NULL;
    const VwPlayed* const file = file_of(rehearsal, i, &name);
    if (file) {
      figures_set_made(made, name, tryout_codes_text(file->sound, encoding));
    }
  }
  return made;
}

Figures*
frames_of_sound(const TryoutSound* sound, bool heard) {
  Figures* const made = figures_new();
  if (heard) {
    figures_set(made, "single", codes_of(sound->single, sound->encoding));
    figures_set(made, "rapid", codes_of(sound->rapid, sound->encoding));
  }
  figures_set_made(made,
                   "alone",
                   heard && sound->relay
                     ? tryout_codes_text(sound->relay->alone, VW_ENCODING_FLOAT)
                     : NULL);
  return made;
}

uint64_t
frames_length(const TryoutSound* sound) {
  uint64_t                 n = sound->relay
                                 ? tryout_codes_length(sound->relay->alone, VW_ENCODING_FLOAT)
                                 : 0U;
  const VwRehearsal* const rehearsals[] = {sound->single, sound->rapid};
  for (size_t i = 0; i < 6U; ++i) {
    const VwRehearsal* const rehearsal = rehearsals[i / 3U];
    const char*              name = NULL;
    const VwPlayed* const    file =
      rehearsal ? file_of(rehearsal, i % 3U, &name) : NULL;
    n += file ? tryout_codes_length(file->sound, sound->encoding) : 0U;
  }
  return n;
}
