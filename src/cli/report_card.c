#include "report_card.h"

#include "status.h"
#include "text.h"

#include <jansson.h>
#include <stdlib.h>

static json_t*
count(uint64_t n) {
  return json_integer((json_int_t)n);
}

/// Text or null; bytes that are no UTF-8 are made safe.
static json_t*
string(const char* text) {
  json_t* const plain = text ? json_string(text) : json_null();
  if (plain) {
    return plain;
  }
  char* const   safe = text_safe(text);
  json_t* const made = json_string(safe ? safe : "");
  free(safe);
  return made;
}

static json_t*
error_of(VwStatus status, const char* at) {
  char* const   message = status ? status_message(status) : NULL;
  json_t* const made = status ? json_pack("{s:s, s:o, s:o}",
                                          "status",
                                          status_word(status),
                                          "message",
                                          string(message),
                                          "path",
                                          string(at))
                              : json_null();
  free(message);
  return made;
}

static json_t*
faults_of(const VwFaults* faults) {
  json_t* const made = json_array();
  for (size_t i = 0; faults && i < faults->n_faults; ++i) {
    const VwFault* const fault = &faults->faults[i];
    json_array_append_new(made,
                          json_pack("{s:o, s:o, s:o}",
                                    "path",
                                    string(fault->path),
                                    "fault",
                                    string(fault->what),
                                    "remedy",
                                    string(fault->remedy)));
  }
  return made;
}

static bool
print(json_t* object, FILE* out) {
  char* const line = json_dumps(object, 0);
  if (line) {
    fprintf(out, "%s\n", line);
  }
  free(line);
  json_decref(object);
  return line != NULL;
}

bool
report_check_json(const CheckReport* report, FILE* out) {
  const VwFindings* const found = report->findings;
  const uint64_t          capacity = report->board->capacity_bytes;
  json_t* const           object = json_object();
  json_object_set_new(object, "schema", json_integer(1));
  json_object_set_new(object, "command", json_string("check"));
  json_object_set_new(object, "path", string(report->path));
  json_object_set_new(
    object, "board", json_pack("{s:o}", "name", string(report->board->name)));
  json_object_set_new(object, "error", error_of(report->status, report->path));
  json_object_set_new(
    object, "faults", faults_of(found ? &found->faults : NULL));
  json_object_set_new(
    object, "warnings", faults_of(found ? &found->warnings : NULL));
  json_object_set_new(
    object, "files_total", count(found ? found->n_files : 0U));
  json_object_set_new(object, "bytes", count(found ? found->n_bytes : 0U));
  json_object_set_new(
    object, "bytes_on_card", count(found ? found->n_bytes_on_card : 0U));
  json_object_set_new(
    object, "capacity_bytes", capacity ? count(capacity) : json_null());
  return print(object, out);
}

static json_t*
paths_of(const VwDelivered* files, size_t n_files) {
  json_t* const made = json_array();
  for (size_t i = 0; i < n_files; ++i) {
    json_array_append_new(made,
                          json_pack("{s:o, s:o}",
                                    "path",
                                    string(files[i].path),
                                    "bytes",
                                    count(files[i].n_bytes)));
  }
  return made;
}

bool
report_delivery_json(const DeliveryReport* report, FILE* out) {
  const VwDelivery* const delivery = report->delivery;
  json_t* const           object = json_object();
  json_object_set_new(object, "schema", json_integer(1));
  json_object_set_new(object, "command", json_string("deliver"));
  json_object_set_new(object, "from", string(report->from));
  json_object_set_new(object, "to", string(report->to));
  json_object_set_new(object, "error", error_of(report->status, delivery->at));
  json_object_set_new(object, "dry_run", json_boolean(report->dry_run));
  json_object_set_new(object, "verified", json_boolean(report->verified));
  json_object_set_new(object, "ordered", json_boolean(delivery->ordered));
  json_object_set_new(object, "mounted", json_boolean(delivery->mounted));
  json_object_set_new(
    object, "files", paths_of(delivery->files, delivery->n_files));
  json_object_set_new(
    object, "cleared", paths_of(delivery->old, delivery->n_old));
  json_object_set_new(
    object, "litter", paths_of(delivery->left, delivery->n_left));
  json_object_set_new(object, "bytes", count(delivery->n_bytes));
  json_object_set_new(
    object, "bytes_on_card", count(delivery->n_bytes_on_card));
  json_object_set_new(object, "bytes_free", count(delivery->n_bytes_free));
  return print(object, out);
}
