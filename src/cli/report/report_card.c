#include "cli/report/report_card.h"

#include "base/status.h"
#include "card/card.h"
#include "cli/message/json_values.h"

#include <stdlib.h>

static json_t*
error_of(VwStatus status, const char* at) {
  json_t* const made = json_of_status(status);
  if (status) {
    json_set_text(made, "path", at);
  }
  return made;
}

static json_t*
faults_of(const VwFaults* faults) {
  json_t* const made = json_array();
  for (size_t i = 0; faults && i < faults->n_faults; ++i) {
    const VwFault* const fault = &faults->faults[i];
    const bool           placed = fault->placed;
    json_array_append_new(
      made,
      json_pack("{s:o, s:o, s:o, s:o, s:o}",
                "path",
                json_of_text(fault->path),
                "fault",
                json_of_text(fault->what),
                "remedy",
                json_of_text(fault->remedy),
                "from_frame",
                placed ? json_of_count(fault->from_frame) : json_null(),
                "to_frame",
                placed ? json_of_count(fault->to_frame) : json_null()));
  }
  return made;
}

bool
report_check_json(const CheckReport* report, FILE* out) {
  const VwFindings* const found = report->findings;
  const uint64_t          capacity = report->board->capacity_bytes;
  json_t* const           object = json_object();
  json_object_set_new(object, "schema", json_integer(1));
  json_object_set_new(object, "command", json_string("check"));
  json_set_text(object, "path", report->path);
  json_object_set_new(
    object,
    "board",
    json_pack("{s:o}", "name", json_of_text(report->board->name)));
  json_object_set_new(object, "error", error_of(report->status, report->path));
  json_object_set_new(
    object, "faults", faults_of(found ? &found->faults : NULL));
  json_object_set_new(
    object, "warnings", faults_of(found ? &found->warnings : NULL));
  json_set_count(object, "files_total", found ? found->n_files : 0U);
  json_set_count(object, "bytes", found ? found->n_bytes : 0U);
  json_set_count(object, "bytes_on_card", found ? found->n_bytes_on_card : 0U);
  json_object_set_new(
    object, "capacity_bytes", capacity ? json_of_count(capacity) : json_null());
  return json_print(object, out);
}

static json_t*
paths_of(const VwDelivered* files, size_t n_files) {
  json_t* const made = json_array();
  for (size_t i = 0; i < n_files; ++i) {
    json_array_append_new(made,
                          json_pack("{s:o, s:o}",
                                    "path",
                                    json_of_text(files[i].path),
                                    "bytes",
                                    json_of_count(files[i].n_bytes)));
  }
  return made;
}

bool
report_delivery_json(const DeliveryReport* report, FILE* out) {
  const VwDelivery* const delivery = report->delivery;
  json_t* const           object = json_object();
  json_object_set_new(object, "schema", json_integer(1));
  json_object_set_new(object, "command", json_string("deliver"));
  json_set_text(object, "from", report->from);
  json_set_text(object, "to", report->to);
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
  json_set_count(object, "bytes", delivery->n_bytes);
  json_set_count(object, "bytes_on_card", delivery->n_bytes_on_card);
  json_set_count(object, "bytes_free", delivery->n_bytes_free);
  json_object_set_new(object, "cautions", json_of_prop_cautions(0.0));
  return json_print(object, out);
}
