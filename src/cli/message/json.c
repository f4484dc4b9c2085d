#include "cli/message/figures.h"

#include "cli/message/message.h"

#include <jansson.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

// Digits that bring back any decimal number (IEEE 754-2019, 5.12.2), so that
// what was rounded is printed as such.
#define DIGITS 15

// Whole numbers beyond are no longer told from their neighbours.
#define WHOLE_MOST 9007199254740992.0 // 2^53

// Longer than any name.
#define NAME_ROOM 64U

/* To gather them */

void
figures_begin(void) {
  json_set_alloc_funcs(sure_bytes, free);
}

Figures*
figures_new(void) {
  return json_object();
}

Figures*
figures_list(void) {
  return json_array();
}

void
figures_free(Figures* figures) {
  json_decref(figures);
}

/// Text as it is; bytes that are no UTF-8 are made safe.
static json_t*
of_text(const char* text) {
  json_t* const plain = text ? json_string(text) : json_null();
  if (plain) {
    return plain;
  }
  char* const   safe = text_safe(text);
  json_t* const made = json_string(safe);
  free(safe);
  return made;
}

static json_t*
of_number(double value) {
  return isfinite(value) ? json_real(value) : json_null();
}

static json_t*
of_count(uint64_t n) {
  return json_integer((json_int_t)n);
}

void
figures_set_number(Figures* of, const char* name, double value) {
  json_object_set_new(of, name, of_number(value));
}

void
figures_set_count(Figures* of, const char* name, uint64_t value) {
  json_object_set_new(of, name, of_count(value));
}

void
figures_set_flag(Figures* of, const char* name, bool value) {
  json_object_set_new(of, name, json_boolean(value));
}

void
figures_set_text(Figures* of, const char* name, const char* value) {
  json_object_set_new(of, name, of_text(value));
}

void
figures_set_tree(Figures* of, const char* name, Figures* value) {
  json_object_set_new(of, name, value ? value : json_null());
}

void
figures_set_some(Figures* of, const char* name, uint64_t value) {
  json_object_set_new(of, name, value ? of_count(value) : json_null());
}

void
figures_set_made(Figures* of, const char* name, char* text) {
  figures_set_text(of, name, text);
  free(text);
}

void
figures_add_number(Figures* list, double value) {
  json_array_append_new(list, of_number(value));
}

void
figures_add_count(Figures* list, uint64_t value) {
  json_array_append_new(list, of_count(value));
}

void
figures_add_text(Figures* list, const char* value) {
  json_array_append_new(list, of_text(value));
}

void
figures_add_tree(Figures* list, Figures* value) {
  json_array_append_new(list, value ? value : json_null());
}

/* What reports have in common */

Figures*
figures_of_command(const char* command) {
  Figures* const made = figures_new();
  figures_set(made, "schema", 1U);
  figures_set(made, "command", command);
  return made;
}

Figures*
figures_of_error(VwStatus status, const char* message) {
  Figures* const made = status ? figures_new() : NULL;
  if (made) {
    figures_set(made, "status", status_word(status));
    figures_set(made, "message", message ? message : "");
  }
  return made;
}

Figures*
figures_of_status(VwStatus status) {
  char* const    message = status ? status_message(status) : NULL;
  Figures* const made = figures_of_error(status, message);
  free(message);
  return made;
}

Figures*
figures_of_track(const VwLampTrack* track) {
  Figures* const made = track->pulses ? figures_new() : NULL;
  if (made) {
    figures_set(made, "channel", 2U);
    figures_set(made, "tone_hz", track->tone_hz);
    figures_set(made, "level_dbfs", track->level_dbfs);
    figures_set(made, "on_ms", track->on_ms);
    figures_set(made, "pulses", track->pulses);
  }
  return made;
}

/* To look at them */

const Figures*
figures_at(const Figures* of, const char* name) {
  const size_t n = strcspn(name, ".");
  char         first[NAME_ROOM];
  (void)snprintf(first, sizeof(first), "%.*s", (int)n, name);
  const Figures* const found = json_object_get(of, first);
  return found && name[n] ? figures_at(found, name + n + 1U) : found;
}

const Figures*
figures_entry(const Figures* list, size_t index) {
  return json_array_get(list, index);
}

Figure
figures_get(const Figures* of, const char* name) {
  const json_t* const value = figures_at(of, name);
  switch (value ? json_typeof(value) : JSON_NULL) {
    case JSON_REAL:
      return (Figure){FIGURE_NUMBER, json_real_value(value), NULL};
    case JSON_INTEGER:
      return (Figure){FIGURE_COUNT, (double)json_integer_value(value), NULL};
    case JSON_TRUE:
    case JSON_FALSE:
      return (Figure){FIGURE_FLAG, json_is_true(value) ? 1.0 : 0.0, NULL};
    case JSON_STRING:
      return (Figure){FIGURE_TEXT, 0.0, json_string_value(value)};
    case JSON_OBJECT:
    case JSON_ARRAY:
      return (Figure){FIGURE_TREE, 0.0, NULL};
    case JSON_NULL:
      break;
  }
  return (Figure){FIGURE_NONE, 0.0, NULL};
}

/* As JSON */

/// A number as it is printed, a whole one without a point; or figures whose
/// numbers are made so.
static json_t*
told(json_t* value, const char* name) {
  if (json_is_real(value)) {
    const double number = figures_rounded(name, json_real_value(value));
    return number == nearbyint(number) && fabs(number) < WHOLE_MOST
             ? json_integer((json_int_t)number)
             : json_real(number);
  }
  for (size_t i = 0; i < json_array_size(value); ++i) {
    json_array_set_new(value, i, told(json_array_get(value, i), name));
  }
  for (void* at = json_object_iter(value); at;
       at = json_object_iter_next(value, at)) {
    json_object_iter_set_new(
      value, at, told(json_object_iter_value(at), json_object_iter_key(at)));
  }
  return json_incref(value);
}

/// Make all numbers of figures as they are printed.
static void
tell(Figures* figures) {
  json_decref(told(figures, ""));
}

/// Where JSON goes.
typedef struct {
  bool (*to)(void* context, const char* json, size_t n_bytes);
  void* context;
} Sink;

static int
send_piece(const char* json, size_t n_bytes, void* sink) {
  const Sink* const of = sink;
  return of->to(of->context, json, n_bytes) ? 0 : -1;
}

bool
figures_send(Figures* figures,
             bool (*to)(void* context, const char* json, size_t n_bytes),
             void* context) {
  Sink sink = {to, context};
  tell(figures);
  const int failed = json_dump_callback(
    figures, send_piece, &sink, JSON_COMPACT | JSON_REAL_PRECISION(DIGITS));
  json_decref(figures);
  return !failed;
}

bool
figures_json(Figures* figures, FILE* out) {
  tell(figures);
  char* const line = json_dumps(figures, JSON_REAL_PRECISION(DIGITS));
  if (line) {
    fprintf(out, "%s\n", line);
  }
  free(line);
  json_decref(figures);
  return line != NULL;
}
