#include "cli/page/tryout_relay.h"

#include <math.h>

static unsigned
bytes_per_value(VwEncoding encoding) {
  static const unsigned bytes[] = {1U, 2U, 3U, 4U};
  return bytes[encoding];
}

static void
add_format(JsonText* page, const TryoutRelay* relay) {
  const VwFamilyOptions* const options = relay->options;
  const VwFormat* const        format = &options->format;
  const unsigned               n_value = bytes_per_value(format->encoding);
  const unsigned               n_frame = n_value * format->n_channels;
  const unsigned               frame_unit = n_frame % 2U ? 2U : 1U;
  const bool                   bursts = options->form == VW_FORM_BURST;
  const unsigned               buffer = bursts ? 1U : options->buffer_frames;
  json_text_add(page,
                ",\"bytesPerFrame\":%u,\"frameUnit\":%u,\"loopUnit\":%u,"
                "\"coarse\":%s,\"ceiling\":%.17g",
                n_frame,
                frame_unit,
                buffer % frame_unit ? buffer * frame_unit : buffer,
                n_value < 3U ? "true" : "false",
                pow(10.0, options->level.ceiling_dbtp / 20.0));
}

static void
add_options(JsonText* page, const TryoutRelay* relay) {
  const VwFamilyOptions* const options = relay->options;
  json_text_add(page, ",\"options\":{\"fireRatePerS\":");
  json_text_number(page, relay->fire_rate_per_s);
  json_text_add(page, ",\"valleyDb\":");
  json_text_number(page, options->valley_db);
  json_text_add(page,
                ",\"tail\":\"%s\",\"shots\":%u}",
                options->tail == VW_TAIL_CHOKE ? "choke" : "overlap",
                options->shots);
}

void
tryout_relay_add(JsonText* page, const TryoutRelay* relay) {
  json_text_add(page, ",\"relay\":");
  if (!relay) {
    json_text_string(page, NULL);
    return;
  }
  const VwFamilyOptions* const options = relay->options;
  const VwSound* const         alone = relay->alone;
  json_text_add(page,
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
  add_format(page, relay);
  add_options(page, relay);
  json_text_add(page, ",\"command\":");
  json_text_string(page, relay->command);
  json_text_add(page, ",\"take\":");
  json_text_string(page, relay->take);
  json_text_add(page, "}");
}
