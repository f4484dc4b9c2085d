#include "pack/pack_key.h"

#include "board/board.h"
#include "pack/pack.h"
#include "store/digest.h"
#include "store/file.h"

#include <assert.h>
#include <string.h>

// Counted up whenever the same takes and options make something else.
#define MAKING 2U

// More than there are of anything in a key.
#define WORDS_MOST 80U

/// Values in a row, each as 64 bits: structures have gaps between theirs.
typedef struct {
  uint64_t words[WORDS_MOST];
  size_t   n;
} Row;

static void
add(Row* row, uint64_t word) {
  assert(row->n < WORDS_MOST);
  row->words[row->n++] = word;
}

static void
add_real(Row* row, double value) {
  uint64_t word = 0;
  memcpy(&word, &value, sizeof(word));
  add(row, word);
}

static void
add_text(Row* row, const char* text) {
  add(row, vw_digest(text, strlen(text)));
}

static uint64_t
digest_of(const Row* row) {
  return vw_digest(row->words, row->n * sizeof(row->words[0]));
}

VwStatus
vw_pack_key_of_takes(const char* const* takes,
                     size_t             n_takes,
                     uint64_t*          key,
                     size_t*            at) {
  Row row = {.n = 0};
  for (size_t i = 0; i < n_takes; ++i) {
    VwBytes        bytes = {0};
    const VwStatus st = vw_file_read(takes[i], &bytes);
    if (st) {
      *at = i;
      return st;
    }
    add(&row, vw_digest(bytes.data, bytes.n_bytes));
    vw_bytes_clear(&bytes);
  }
  *key = digest_of(&row);
  return VW_OK;
}

static void
add_format(Row* row, const VwFormat* format) {
  add(row, format->rate_hz);
  add(row, format->n_channels);
  add(row, format->encoding);
  add(row, format->dither);
}

static void
add_level(Row* row, const VwLevelOptions* level) {
  add(row, level->aim);
  add_real(row, level->loudness_lufs);
  add_real(row, level->gain_db);
  add_real(row, level->ceiling_dbtp);
  add_real(row, level->limiting_max_db);
  add(row, level->loud_as);
  add_real(row, level->speaker_hz);
}

static void
add_burst(Row* row, const VwFamilyOptions* options) {
  add(row, options->form);
  add(row, options->burst_shots);
  add_real(row, options->fire_rate_per_s);
  add(row, options->shots);
  add_real(row, options->cycle_max_s);
  add_real(row, options->gap_ms);
  add(row, options->buffer_frames);
  add(row, options->file_bytes_max);
  add_real(row, options->run_in_max_s);
  add(row, options->tail);
  add_real(row, options->valley_db);
  add_real(row, options->detune_cents);
  add_real(row, options->level_spread_db);
  add_real(row, options->lamp_on_ms);
  add(row, options->lamp_track.wanted);
  add_real(row, options->lamp_track.tone_hz);
  add_real(row, options->lamp_track.level_dbfs);
  add(row, options->seed);
}

static void
add_board(Row* row, const VwBoard* board) {
  add(row, board->container);
  add(row, board->loop_points);
  add(row, board->n_sample_rates);
  for (unsigned i = 0; i < board->n_sample_rates; ++i) {
    add(row, board->sample_rates_hz[i]);
  }
}

uint64_t
vw_pack_key_of_sound(const VwPackOrigin* origin) {
  const VwPackSound* const sound = origin->sound;
  Row                      row = {.n = 0};
  add_text(&row, vw_version());
  add(&row, MAKING);
  add(&row, origin->takes);
  add(&row, origin->n_takes);
  add_real(&row, origin->pack->reading.seconds_max);
  add_board(&row, origin->pack->board);
  add(&row, sound->wish->make);
  add_format(&row, &sound->options.format);
  add_burst(&row, &sound->options);
  add_level(&row, &sound->options.level);
  // An array in C carries its name.
  add_text(&row,
           origin->pack->board->container == VW_CONTAINER_C_ARRAY ? origin->name
                                                                  : "");
  return digest_of(&row);
}

uint64_t
vw_pack_key_of_files(uint64_t sound, const VwLevelOptions* level) {
  Row row = {.n = 0};
  add(&row, sound);
  add_level(&row, level);
  return digest_of(&row);
}
