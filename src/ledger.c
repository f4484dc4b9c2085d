#include "ledger.h"

#include "digest.h"
#include "file.h"
#include "path.h"

#include <errno.h>
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#define LIST_NAME ".volleyweave.list"

// "DIGEST  " before a name.
#define DIGITS 16U
#define NAME_AT (DIGITS + 2U)

static char*
list_path(const char* path) {
  return vw_path_sibling(path, "", LIST_NAME, "");
}

/// A line of the list, without its end.
typedef struct {
  const char* text;
  size_t      length;
} Line;

/// The line from `at` on; moves `at` behind it.
static Line
next_line(const VwBytes* list, size_t* at) {
  const char* const text = (const char*)list->data + *at;
  const size_t      left = list->n_bytes - *at;
  const char* const end = memchr(text, '\n', left);
  const Line        line = {text, end ? (size_t)(end - text) : left};
  *at += line.length + (end ? 1U : 0U);
  return line;
}

static bool
line_names(const Line* line, const char* name) {
  return line->length == NAME_AT + strlen(name) &&
         !memcmp(line->text + NAME_AT, name, line->length - NAME_AT);
}

bool
vw_ledger_holds(const char* path, uint64_t digest) {
  char        digits[DIGITS + 1U];
  char* const list_name = list_path(path);
  VwBytes     list = {0};
  bool        holds = false;
  snprintf(digits, sizeof(digits), "%016" PRIx64, digest);
  if (list_name && !vw_file_read(list_name, &list)) {
    for (size_t at = 0; !holds && at < list.n_bytes;) {
      const Line line = next_line(&list, &at);
      holds = line_names(&line, vw_path_name(path)) &&
              !memcmp(line.text, digits, DIGITS);
    }
  }
  vw_bytes_clear(&list);
  free(list_name);
  return holds;
}

static bool
is_written_anew(const Line* line, const VwOutput* outputs, size_t n_outputs) {
  for (size_t i = 0; i < n_outputs; ++i) {
    if (line_names(line, vw_path_name(outputs[i].path))) {
      return true;
    }
  }
  return false;
}

/// Whether a name fits on a line of the list.
static bool
fits_line(const char* name) {
  return !strchr(name, '\n');
}

static size_t
room_for(const VwBytes* before, const VwOutput* outputs, size_t n_outputs) {
  size_t room = before->n_bytes + 2U;
  for (size_t i = 0; i < n_outputs; ++i) {
    room += NAME_AT + strlen(vw_path_name(outputs[i].path)) + 1U;
  }
  return room;
}

/// The list with its lines about the outputs replaced.
static VwStatus
list_with(const VwBytes*  before,
          const VwOutput* outputs,
          size_t          n_outputs,
          VwBytes*        list) {
  const size_t room = room_for(before, outputs, n_outputs);
  char* const  text = malloc(room);
  size_t       n = 0;
  if (!text) {
    return VW_NO_MEMORY;
  }
  for (size_t at = 0; at < before->n_bytes;) {
    const Line line = next_line(before, &at);
    if (line.length && !is_written_anew(&line, outputs, n_outputs)) {
      memcpy(text + n, line.text, line.length);
      n += line.length;
      text[n++] = '\n';
    }
  }
  for (size_t i = 0; i < n_outputs; ++i) {
    const char* const    name = vw_path_name(outputs[i].path);
    const VwBytes* const bytes = &outputs[i].bytes;
    if (fits_line(name)) {
      n += (size_t)snprintf(text + n,
                            room - n,
                            "%016" PRIx64 "  %s\n",
                            vw_digest(bytes->data, bytes->n_bytes),
                            name);
    }
  }
  *list = (VwBytes){(unsigned char*)text, n};
  return VW_OK;
}

static VwStatus
replace_list(const char* list_name, const VwBytes* list) {
  char*    staged = NULL;
  VwStatus st = vw_file_stage(list_name, list, &staged);
  if (!st && rename(staged, list_name)) {
    st = vw_file_status(errno);
    unlink(staged);
  }
  free(staged);
  return st;
}

VwStatus
vw_ledger_remember(const VwOutput* outputs, size_t n_outputs, VwBytes* before) {
  char* const list_name = list_path(outputs->path);
  VwBytes     was = {0};
  VwBytes     list = {0};
  VwStatus    st = list_name ? VW_OK : VW_NO_MEMORY;
  if (!st && vw_file_read(list_name, &was)) {
    // A list that cannot be read is as good as none: nothing is then ours.
    was = (VwBytes){0};
  }
  st = st ? st : list_with(&was, outputs, n_outputs, &list);
  st = st ? st : replace_list(list_name, &list);
  vw_bytes_clear(&list);
  free(list_name);
  if (st) {
    vw_bytes_clear(&was);
    return st;
  }
  *before = was;
  return VW_OK;
}

void
vw_ledger_restore(const char* path, const VwBytes* before) {
  char* const list_name = list_path(path);
  if (list_name && (!before->data || replace_list(list_name, before))) {
    unlink(list_name);
  }
  free(list_name);
}
