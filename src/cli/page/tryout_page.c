#include "cli/page/tryout_page.h"

#include "board/board.h"
#include "cli/message/words.h"
#include "cli/page/tryout_codes.h"
#include "cli/page/tryout_lamp.h"
#include "cli/page/tryout_outline.h"
#include "cli/page/tryout_parts.h"
#include "cli/page/tryout_relay.h"
#include "pack/pack.h"
#include "store/store.h"

#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define KEY_FORMAT "<!-- made from %016" PRIx64 " -->\n"
#define KEY_LENGTH 36

#define BLOCK_OF(kind) "<script type=\"application/json\" " kind ">"
#define BLOCK_END "</script>\n"

/* Boards */

static void
add_sums(JsonText* page, const VwPackSums* sums) {
  json_text_add(page, ",\"bytesOnCard\":");
  json_text_number(page, sums ? (double)sums->n_bytes_on_card : (double)NAN);
  json_text_add(page, ",\"bytesOver\":");
  json_text_number(page, sums ? (double)sums->n_bytes_over : (double)NAN);
  json_text_add(page, ",\"files\":");
  json_text_number(page, sums ? (double)sums->n_files : (double)NAN);
  json_text_add(page, ",\"loudnessLufs\":");
  json_text_number(page, sums ? sums->loudness_lufs : (double)NAN);
}

static void
add_board(JsonText* page, const TryoutBoard* shown) {
  const VwBoard* const board = shown->board;
  json_text_add(page, "{\"name\":");
  json_text_string(page, shown->known ? board->name : NULL);
  json_text_add(page, ",\"error\":");
  json_text_string(page, shown->error);
  json_text_add(page,
                ",\"repeat\":\"%s\",\"release\":\"%s\",\"gapMs\":%.17g,"
                "\"delayMs\":%.17g,\"pressMinMs\":%.17g,"
                "\"capacityBytes\":%" PRIu64 ",\"clusterBytes\":%u",
                choice_word(words_repeat, (int)board->repeat),
                board->release == VW_RELEASE_FINISHES ? "finishes" : "stops",
                board->gap_ms,
                board->delay_ms,
                board->press_min_ms,
                board->capacity_bytes,
                board->cluster_bytes ? board->cluster_bytes : 1U);
  add_sums(page, shown->sums);
  json_text_add(page, "}");
}

void
tryout_page_begin(TryoutPage* page, const TryoutHead* head, VwPour* to) {
  JsonText* const text = &page->text;
  *page = (TryoutPage){.text = {.to = to}};
  json_text_bytes(text, tryout_before, strlen(tryout_before));
  json_text_add(text,
                BLOCK_OF("id=\"data\"") "{\"schema\":1,\"version\":\"%s\","
                                        "\"heardMost\":%u,\"title\":",
                vw_version(),
                TRYOUT_HEARD_MOST);
  json_text_string(text, head->title);
  json_text_add(text, ",\"madeBy\":");
  json_text_string(text, head->made_by);
  json_text_add(text, ",\"speakerHz\":%.17g,\"boards\":[", head->speaker_hz);
  for (size_t i = 0; i < head->n_boards; ++i) {
    json_text_add(text, "%s", i ? "," : "");
    add_board(text, &head->boards[i]);
  }
  json_text_add(text, "]}" BLOCK_END);
}

/* Facts */

static void
add_file(JsonText* page, const char* key, const VwPlayed* file) {
  if (!file->sound) {
    return;
  }
  json_text_add(page,
                "%s\"%s\":{\"nFrames\":%zu,\"shots\":[",
                strcmp(key, "main") ? "," : "",
                key,
                file->sound->n_frames);
  for (size_t i = 0; i < file->n_shots; ++i) {
    json_text_add(page, "%s%zu", i ? "," : "", file->shots[i]);
  }
  json_text_add(page, "]}");
}

static void
add_lamp(JsonText*          page,
         const TryoutSound* sound,
         const VwRehearsal* rehearsal) {
  const bool   rapid = rehearsal->fire_rate_per_s > 0.0;
  const VwLamp usual = vw_lamp(rapid ? rehearsal->fire_rate_per_s : 1.0);
  const double on_ms =
    rehearsal->lamp_on_ms > 0.0 ? rehearsal->lamp_on_ms : usual.on_ms;
  json_text_add(page, ",\"lampOnS\":%.17g", on_ms / 1000.0);
  if (rapid && !sound->track) {
    const VwLamp lamp = vw_lamp_with(rehearsal->fire_rate_per_s, on_ms);
    tryout_lamp_add(page, sound->settings, &lamp);
  } else {
    json_text_add(page, ",\"lampParts\":null");
  }
}

static void
add_rehearsal(JsonText*          page,
              const char*        key,
              const TryoutSound* sound,
              const VwRehearsal* rehearsal) {
  json_text_add(page, ",\"%s\":", key);
  if (!rehearsal) {
    json_text_string(page, NULL);
    return;
  }
  const VwSound* const main = rehearsal->main.sound;
  const double         fire_rate = rehearsal->fire_rate_per_s;
  json_text_add(page,
                "{\"repeat\":\"%s\",\"rateHz\":%u,\"channels\":%u,"
                "\"codes\":\"%s\",\"loopStart\":%zu,\"loopEnd\":%zu,"
                "\"fireRatePerS\":",
                choice_word(words_repeat, (int)rehearsal->repeat),
                main->rate_hz,
                main->n_channels,
                tryout_codes_word(sound->encoding),
                rehearsal->loop_start,
                rehearsal->loop_end);
  json_text_number(page, fire_rate > 0.0 ? fire_rate : (double)NAN);
  add_lamp(page, sound, rehearsal);
  json_text_add(page, ",\"outline\":");
  tryout_outline_add(page, main);
  json_text_add(page, ",\"files\":{");
  add_file(page, "main", &rehearsal->main);
  add_file(page, "runIn", &rehearsal->run_in);
  add_file(page, "ringOut", &rehearsal->ring_out);
  json_text_add(page, "}}");
}

static void
add_facts(JsonText* page, const TryoutSound* sound, bool heard) {
  json_text_add(page,
                BLOCK_OF("class=\"sound\"") "{\"board\":%zu,\"family\":%zu,"
                                            "\"name\":",
                sound->board,
                sound->family);
  json_text_string(page, sound->name);
  json_text_add(page, ",\"group\":");
  json_text_string(page, sound->group);
  json_text_add(page,
                ",\"slot\":%u,\"bytes\":%" PRIu64
                ",\"heard\":%s,\"track\":%s,\"error\":",
                sound->slot,
                sound->n_bytes,
                heard ? "true" : "false",
                sound->track ? "true" : "false");
  json_text_string(page, sound->error);
  json_text_add(page, ",\"madeBy\":");
  json_text_string(page, sound->made_by);
  json_text_add(page, ",\"madeWith\":");
  json_text_string(page, sound->made_with);
  json_text_add(page, ",\"report\":");
  json_text_raw(page, sound->report ? sound->report : "null");
  add_rehearsal(page, "single", sound, sound->single);
  add_rehearsal(page, "rapid", sound, sound->rapid);
  tryout_relay_add(page, heard ? sound->relay : NULL);
  json_text_add(page, ",\"unlaid\":");
  json_text_string(page, sound->unlaid);
  json_text_add(page, "}" BLOCK_END);
}

/* Frames */

static const char* const file_keys[] = {"main", "runIn", "ringOut"};

static const VwSound*
file_of(const VwRehearsal* rehearsal, size_t index) {
  if (!rehearsal) {
    return NULL;
  }
  const VwPlayed* const files[] = {
    &rehearsal->main, &rehearsal->run_in, &rehearsal->ring_out};
  return files[index]->sound;
}

static uint64_t
length_of(const TryoutSound* sound) {
  uint64_t n = sound->relay
                 ? tryout_codes_length(sound->relay->alone, VW_ENCODING_FLOAT)
                 : 0U;
  for (size_t i = 0; i < 3U; ++i) {
    const VwSound* const single = file_of(sound->single, i);
    const VwSound* const rapid = file_of(sound->rapid, i);
    n += single ? tryout_codes_length(single, sound->encoding) : 0U;
    n += rapid ? tryout_codes_length(rapid, sound->encoding) : 0U;
  }
  return n;
}

static void
add_files(JsonText*          page,
          const char*        key,
          const VwRehearsal* rehearsal,
          VwEncoding         encoding) {
  json_text_add(page, "\"%s\":{", key);
  for (size_t i = 0; i < 3U; ++i) {
    const VwSound* const sound = file_of(rehearsal, i);
    if (sound) {
      json_text_add(page, "%s\"%s\":", i ? "," : "", file_keys[i]);
      tryout_codes_add(page, sound, encoding);
    }
  }
  json_text_add(page, "},");
}

/// What is heard, in a block of its own that is read when it is wanted.
static void
add_frames(JsonText* page, const TryoutSound* sound, bool heard) {
  json_text_add(page, BLOCK_OF("class=\"frames\"") "{");
  if (heard) {
    add_files(page, "single", sound->single, sound->encoding);
    add_files(page, "rapid", sound->rapid, sound->encoding);
  }
  json_text_add(page, "\"alone\":");
  if (heard && sound->relay) {
    tryout_codes_add(page, sound->relay->alone, VW_ENCODING_FLOAT);
  } else {
    json_text_string(page, NULL);
  }
  json_text_add(page, "}" BLOCK_END);
}

void
tryout_page_add(TryoutPage* page, const TryoutSound* sound) {
  const uint64_t n = length_of(sound);
  const bool     some = sound->single || sound->rapid;
  const bool     heard = some && page->n_heard + n <= TRYOUT_HEARD_MOST;
  page->n_heard += heard ? n : 0U;
  add_facts(&page->text, sound, heard);
  add_frames(&page->text, sound, heard);
}

/* End */

VwStatus
tryout_page_end(TryoutPage* page, uint64_t key) {
  json_text_bytes(&page->text, tryout_after, strlen(tryout_after));
  json_text_add(&page->text, KEY_FORMAT, key);
  const VwStatus st = json_text_flush(&page->text);
  json_text_clear(&page->text);
  return st;
}

uint64_t
tryout_page_key(const char* path) {
  char        last[KEY_LENGTH + 1] = "";
  uint64_t    key = 0;
  FILE* const page = fopen(path, "rb");
  if (!page) {
    return 0;
  }
  const bool good = !fseek(page, -KEY_LENGTH, SEEK_END) &&
                    fread(last, KEY_LENGTH, 1U, page) == 1U &&
                    sscanf(last, "<!-- made from %16" SCNx64, &key) == 1;
  (void)fclose(page);
  return good ? key : 0U;
}
