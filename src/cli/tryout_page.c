#include "tryout_page.h"

#include "lamp_report.h"
#include "tryout_parts.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const char*
repeat_word(VwRepeat repeat) {
  static const char* const words[] = {
    "whole-file", "loop-points", "three-files", "nothing"};
  return words[repeat];
}

/* Sounds as bytes */

/// The codes of 16 bits, little end first. To be freed.
static unsigned char*
codes_of(const VwSound* sound) {
  const size_t         n = sound->n_frames * sound->n_channels;
  unsigned char* const bytes = malloc(2U * n + 1U);
  for (size_t i = 0; bytes && i < n; ++i) {
    const double   value = floor((double)sound->values[i] * 32768.0 + 0.5);
    const long     code = lround(fmin(fmax(value, -32768.0), 32767.0));
    const unsigned bits = (unsigned)(code & 0xFFFF);
    bytes[2U * i] = (unsigned char)(bits & 0xFFU);
    bytes[2U * i + 1U] = (unsigned char)(bits >> 8U);
  }
  return bytes;
}

/// The values as floats of 32 bits (IEEE 754), little end first. To be freed.
static unsigned char*
floats_of(const VwSound* sound) {
  const size_t         n = sound->n_frames * sound->n_channels;
  unsigned char* const bytes = malloc(4U * n + 1U);
  for (size_t i = 0; bytes && i < n; ++i) {
    uint32_t bits = 0;
    memcpy(&bits, &sound->values[i], sizeof(bits));
    for (unsigned k = 0; k < 4U; ++k) {
      bytes[4U * i + k] = (unsigned char)(bits >> (8U * k) & 0xFFU);
    }
  }
  return bytes;
}

/// Add a text in base64 of bytes that are freed here.
static void
add_bytes(JsonText* page, unsigned char* bytes, size_t n_bytes) {
  if (bytes) {
    grow_base64(page, bytes, n_bytes);
  } else {
    grow_string_or_null(page, NULL);
  }
  free(bytes);
}

/* Files */

static void
add_file(JsonText* page, const char* key, const VwPlayed* file) {
  const VwSound* const sound = file->sound;
  if (!sound) {
    return;
  }
  grow_add(page, "%s\"%s\":{\"shots\":[", strcmp(key, "main") ? "," : "", key);
  for (size_t i = 0; i < file->n_shots; ++i) {
    grow_add(page, "%s%zu", i ? "," : "", file->shots[i]);
  }
  grow_add(page, "],\"pcm16\":");
  add_bytes(page, codes_of(sound), 2U * sound->n_frames * sound->n_channels);
  grow_add(page, "}");
}

/// The parts of a timer chip that makes a lamp flash so, as `lamp` has them
/// where nothing else is asked, or null.
static void
add_lamp_parts(JsonText* page, const VwLamp* lamp) {
  const VwTimerWish wish = vw_timer_defaults(lamp);
  VwTimer           timer = {0};
  char              c[40];
  char              plain[40];
  char              fixed[40];
  char              whole[40];
  if (vw_timer_find(&wish, &timer)) {
    grow_string_or_null(page, NULL);
    return;
  }
  char* const text =
    text_format("555 at %g V with a diode: C %s, %s %s, %s %s and a trimmer of "
                "%s at %.0f %%",
                wish.supply_v,
                lamp_farad(c, timer.c_farad),
                timer.trims_ra ? "RB" : "RA",
                lamp_ohm(plain, timer.plain_ohm),
                timer.trims_ra ? "RA" : "RB",
                lamp_ohm(fixed, timer.fixed_ohm),
                lamp_ohm(whole, timer.trimmer_ohm),
                100.0 * timer.set_share);
  grow_string_or_null(page, text);
  free(text);
}

static void
add_rehearsal(JsonText* page, const char* key, const VwRehearsal* rehearsal) {
  grow_add(page, ",\"%s\":", key);
  if (!rehearsal) {
    grow_string_or_null(page, NULL);
    return;
  }
  const bool           rapid = rehearsal->fire_rate_per_s > 0.0;
  const VwLamp         lamp = vw_lamp(rapid ? rehearsal->fire_rate_per_s : 1.0);
  const VwSound* const sound = rehearsal->main.sound;
  const double         on_ms =
    rehearsal->lamp_on_ms > 0.0 ? rehearsal->lamp_on_ms : lamp.on_ms;
  grow_add(page,
           "{\"repeat\":\"%s\",\"rateHz\":%u,\"channels\":%u,"
           "\"loopStart\":%zu,\"loopEnd\":%zu,\"fireRatePerS\":",
           repeat_word(rehearsal->repeat),
           sound->rate_hz,
           sound->n_channels,
           rehearsal->loop_start,
           rehearsal->loop_end);
  grow_number(page, rapid ? rehearsal->fire_rate_per_s : (double)NAN);
  grow_add(page, ",\"lampParts\":");
  if (rapid && rehearsal->repeat != VW_REPEAT_NOTHING) {
    const VwLamp flashing = vw_lamp_with(rehearsal->fire_rate_per_s, on_ms);
    add_lamp_parts(page, &flashing);
  } else {
    grow_string_or_null(page, NULL);
  }
  grow_add(page, ",\"lampOnS\":%.17g,\"files\":{", on_ms / 1000.0);
  add_file(page, "main", &rehearsal->main);
  add_file(page, "runIn", &rehearsal->run_in);
  add_file(page, "ringOut", &rehearsal->ring_out);
  grow_add(page, "}}");
}

/* Relay */

static unsigned
bytes_per_value(VwEncoding encoding) {
  static const unsigned bytes[] = {1U, 2U, 3U, 4U};
  return bytes[encoding];
}

static void
add_relay_format(JsonText* page, const TryoutRelay* relay) {
  const VwFamilyOptions* const options = relay->options;
  const VwFormat* const        format = &options->format;
  const unsigned               n_value = bytes_per_value(format->encoding);
  const unsigned               n_frame = n_value * format->n_channels;
  const unsigned               frame_unit = n_frame % 2U ? 2U : 1U;
  const bool                   bursts = options->form == VW_FORM_BURST;
  const unsigned               buffer = bursts ? 1U : options->buffer_frames;
  grow_add(page,
           ",\"bytesPerFrame\":%u,\"frameUnit\":%u,\"loopUnit\":%u,"
           "\"coarse\":%s,\"ceiling\":%.17g",
           n_frame,
           frame_unit,
           buffer % frame_unit ? buffer * frame_unit : buffer,
           n_value < 3U ? "true" : "false",
           pow(10.0, options->level.ceiling_dbtp / 20.0));
}

static void
add_relay_options(JsonText* page, const TryoutRelay* relay) {
  const VwFamilyOptions* const options = relay->options;
  grow_add(page, ",\"options\":{\"fireRatePerS\":");
  grow_number(page, relay->fire_rate_per_s);
  grow_add(page, ",\"valleyDb\":");
  grow_number(page, options->valley_db);
  grow_add(page,
           ",\"tail\":\"%s\",\"shots\":%u}",
           options->tail == VW_TAIL_CHOKE ? "choke" : "overlap",
           options->shots);
}

static void
add_relay(JsonText* page, const TryoutRelay* relay) {
  grow_add(page, ",\"relay\":");
  if (!relay) {
    grow_string_or_null(page, NULL);
    return;
  }
  const VwFamilyOptions* const options = relay->options;
  const VwSound* const         alone = relay->alone;
  grow_add(page,
           "{\"rateHz\":%u,\"channels\":%u,\"crestFrame\":%zu,"
           "\"nearCrestFrame\":%zu,\"form\":\"%s\",\"burstShots\":%u,"
           "\"gapMs\":%.17g,\"cycleMaxS\":%.17g,\"runInMaxS\":%.17g,"
           "\"fileBytesMax\":%llu",
           alone->rate_hz,
           alone->n_channels,
           relay->use->crest_frame,
           relay->use->near_crest_frame,
           vw_form_name(options->form),
           options->burst_shots,
           options->gap_ms,
           options->cycle_max_s,
           options->run_in_max_s,
           (unsigned long long)options->file_bytes_max);
  add_relay_format(page, relay);
  add_relay_options(page, relay);
  grow_add(page, ",\"command\":");
  grow_string(page, relay->command);
  grow_add(page, ",\"take\":");
  grow_string(page, relay->take);
  grow_add(page, ",\"float32\":");
  add_bytes(page, floats_of(alone), 4U * alone->n_frames * alone->n_channels);
  grow_add(page, "}");
}

/* Page */

void
tryout_page_begin(JsonText* page, const TryoutHead* head) {
  const VwBoard* const board = head->board;
  grow_add(page, "%s", tryout_before);
  grow_add(page, "{\"schema\":1,\"version\":\"%s\",\"title\":", vw_version());
  grow_string(page, head->title);
  grow_add(page, ",\"board\":{\"name\":");
  grow_string_or_null(page, head->board_known ? board->name : NULL);
  grow_add(page,
           ",\"repeat\":\"%s\",\"release\":\"%s\",\"gapMs\":%.17g,"
           "\"delayMs\":%.17g,\"pressMinMs\":%.17g,\"capacityBytes\":%llu,"
           "\"clusterBytes\":%u},\"speakerHz\":%.17g,\"sounds\":[",
           repeat_word(board->repeat),
           board->release == VW_RELEASE_FINISHES ? "finishes" : "stops",
           board->gap_ms,
           board->delay_ms,
           board->press_min_ms,
           (unsigned long long)board->capacity_bytes,
           board->cluster_bytes ? board->cluster_bytes : 1U,
           head->speaker_hz);
}

void
tryout_page_add(JsonText* page, const TryoutSound* sound) {
  const bool first = page->n && page->text[page->n - 1U] == '[';
  grow_add(page, "%s{\"name\":", first ? "" : ",");
  grow_string(page, sound->name);
  grow_add(page, ",\"group\":");
  grow_string_or_null(page, sound->group);
  grow_add(page,
           ",\"slot\":%u,\"bytes\":%llu,\"error\":",
           sound->slot,
           (unsigned long long)sound->n_bytes);
  grow_string_or_null(page, sound->error);
  grow_add(page, ",\"madeBy\":");
  grow_string_or_null(page, sound->made_by);
  grow_add(page, ",\"report\":");
  grow_raw(page, sound->report ? sound->report : "null");
  add_rehearsal(page, "single", sound->single);
  add_rehearsal(page, "rapid", sound->rapid);
  add_relay(page, sound->relay);
  grow_add(page, "}");
}

void
tryout_page_end(JsonText* page) {
  grow_add(page, "]}%s", tryout_after);
}
