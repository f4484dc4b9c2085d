#include "volleyweave/volleyweave.h"

// The name at an index, or an empty one beyond the end.
static const char*
name_at(const char* const* names, size_t n_names, size_t index) {
  return index < n_names ? names[index] : "";
}

const char*
vw_kind_name(VwKind kind) {
  static const char* const names[] = {"shot", "several shots", "sustained"};

  return name_at(names, sizeof(names) / sizeof(names[0]), (size_t)kind);
}

const char*
vw_encoding_name(VwEncoding encoding) {
  static const char* const names[] = {
    "8-bit unsigned PCM", "16-bit PCM", "24-bit PCM", "32-bit float"};

  return name_at(names, sizeof(names) / sizeof(names[0]), (size_t)encoding);
}

const char*
vw_form_name(VwForm form) {
  static const char* const names[] = {
    "pieces", "whole-file", "loop-points", "burst"};

  return name_at(names, sizeof(names) / sizeof(names[0]), (size_t)form);
}

const char*
vw_part_name(VwPart part) {
  static const char* const names[] = {
    "shot", "runin", "loop", "ringout", "burst", "whole"};

  return name_at(names, sizeof(names) / sizeof(names[0]), (size_t)part);
}
