#include "cli/textfile/ini_file.h"

#include "base/status.h"
#include "base/text.h"
#include "cli/message/text.h"
#include "cli/textfile/ini_value.h"

#include <ini.h>

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#define BYTES_MOST 1000000U
#define FAULTS_MOST 50U

/// A file being read. inih asks for lines and hands back keys; it knows neither
/// the number of a line nor a name of 50 bytes, so both are kept here.
typedef struct {
  const char* path;
  const char* repeatable;
  char*       text;   ///< The whole file, ended by 0.
  char*       next;   ///< The line to read next, or NULL.
  unsigned    line;   ///< Of the line read last.
  char*       quoted; ///< Its value, where that stood in quotes. Owned.
  IniFile*    file;
  VwFaults*   faults;
  VwStatus    status;
} Reader;

/* Faults */

static void
fault(Reader* reader, unsigned line, const char* what, const char* remedy) {
  VwFaults* const faults = reader->faults;
  if (faults->n_faults > FAULTS_MOST || reader->status) {
    return;
  }
  if (faults->n_faults == FAULTS_MOST) {
    what = "there are more faults";
    remedy = "mend these first";
  }
  reader->status = vw_faults_add(faults, reader->path, line, what, remedy);
}

/// A fault of the present line that names what it is about.
static void
fault_about(Reader*     reader,
            const char* what,
            const char* about,
            const char* remedy) {
  char* const safe = text_safe(about);
  char* const text = safe ? text_format("%s: %s", safe, what) : NULL;
  fault(reader, reader->line, text ? text : what, remedy);
  free(text);
  free(safe);
}

/* Grow */

/// Room for one more; arrays grow by doubling.
static void*
room_for(Reader* reader, void* array, size_t n, size_t size) {
  const bool  full = !(n & (n - 1U));
  void* const grown = full ? realloc(array, (n ? 2U * n : 1U) * size) : array;
  reader->status = grown ? reader->status : VW_NO_MEMORY;
  return grown;
}

static void
begin_section(Reader* reader, const char* name, size_t n_name) {
  IniFile* const    file = reader->file;
  IniSection* const sections =
    room_for(reader, file->sections, file->n_sections, sizeof(IniSection));
  char* const copy = text_format("%.*s", (int)n_name, name);
  file->sections = sections ? sections : file->sections;
  if (!sections || !copy) {
    free(copy);
    reader->status = VW_NO_MEMORY;
    return;
  }
  sections[file->n_sections++] =
    (IniSection){.name = copy, .line = reader->line};
}

static bool
stands_already(const Reader*     reader,
               const IniSection* section,
               const char*       key) {
  if (reader->repeatable && !strcmp(key, reader->repeatable)) {
    return false;
  }
  for (size_t i = 0; i < section->n_entries; ++i) {
    if (!strcmp(section->entries[i].key, key)) {
      return true;
    }
  }
  return false;
}

static void
add_entry(Reader* reader, const char* key, const char* value) {
  IniSection* const section =
    &reader->file->sections[reader->file->n_sections - 1U];
  IniEntry* const entries =
    room_for(reader, section->entries, section->n_entries, sizeof(IniEntry));
  char* const key_copy = text_format("%s", key);
  char* const value_copy = text_format("%s", value);
  section->entries = entries ? entries : section->entries;
  if (!entries || !key_copy || !value_copy) {
    free(key_copy);
    free(value_copy);
    reader->status = VW_NO_MEMORY;
    return;
  }
  entries[section->n_entries++] =
    (IniEntry){key_copy, value_copy, reader->line};
}

/// What inih calls for each key. Not 0: go on.
static int
take_key(void* user, const char* section, const char* key, const char* value) {
  Reader* const        reader = user;
  const IniFile* const file = reader->file;
  (void)section; // cut short by inih
  if (!file->n_sections) {
    fault_about(reader,
                "a key above the first section",
                key,
                "move it below a line such as [name]");
  } else if (stands_already(
               reader, &file->sections[file->n_sections - 1U], key)) {
    fault_about(reader, "given twice in its section", key, "keep one of them");
  } else if (!reader->status) {
    add_entry(reader, key, reader->quoted ? reader->quoted : value);
  }
  return 1;
}

/* Lines */

/// Cut the next line off the text; NULL at the end.
static char*
next_line(Reader* reader) {
  char* const line = reader->next;
  if (!line || !*line) {
    return NULL;
  }
  const size_t n = strcspn(line, "\n");
  reader->next = line[n] ? line + n + 1U : NULL;
  line[n] = '\0';
  if (n && line[n - 1U] == '\r') {
    line[n - 1U] = '\0';
  }
  ++reader->line;
  return line;
}

/// What is wrong with the characters of a line, or NULL.
static const char*
wrong_characters(const char* line) {
  while (*line) {
    const unsigned n = vw_utf8_read(line, NULL);
    if (!n) {
      return "it is not UTF-8";
    }
    if (text_is_control(*line) && *line != '\t') {
      return "it holds a control character";
    }
    line += n;
  }
  return NULL;
}

/// Begin the section of a line "[name]". False, and a fault, where it is none.
static bool
read_section(Reader* reader, const char* line) {
  const char* const end = strrchr(line, ']');
  const size_t      rest = end ? strspn(end + 1, " \t") : 0U;
  if (!end || (end[1U + rest] && end[1U + rest] != ';')) {
    fault(reader, reader->line, "a section without its ]", "write [name]");
    return false;
  }
  if (end == line + 1) {
    fault(reader, reader->line, "a section without a name", "write [name]");
    return false;
  }
  begin_section(reader, line + 1, (size_t)(end - line - 1));
  return true;
}

/// Look at a line with a key. False, and a fault, where it is none.
static bool
read_key(Reader* reader, const char* line) {
  const char* const equals = strchr(line, '=');
  if (!equals || equals == line || memchr(line, ':', (size_t)(equals - line))) {
    fault(reader,
          reader->line,
          "neither a section nor a key with its value",
          "write key = value, or begin the line with #");
    return false;
  }
  const char* const value = equals + 1 + strspn(equals + 1, " \t");
  if (*value != '"') {
    return true;
  }
  const char* const wrong = ini_value_read(value, &reader->quoted);
  if (wrong) {
    fault(reader, reader->line, wrong, "write key = \"value\"");
  }
  return !wrong;
}

/// Whether a line says something that inih is to read.
static bool
is_to_read(Reader* reader, const char* line) {
  const char* const wrong = wrong_characters(line);
  if (wrong) {
    fault(reader, reader->line, wrong, "write it with an editor for text");
    return false;
  }
  if (!*line || *line == '#' || *line == ';') {
    return false;
  }
  if (strlen(line) > INI_LINE_MOST) {
    fault(reader,
          reader->line,
          "the line has more than 197 bytes",
          "shorten it; a path can be given from the file's own folder");
    return false;
  }
  return *line == '[' ? read_section(reader, line) : read_key(reader, line);
}

/// What inih calls for the next line, as it would call fgets().
static char*
give_line(char* buffer, int n, void* user) {
  Reader* const reader = user;
  free(reader->quoted);
  reader->quoted = NULL;
  const char* const line = reader->status ? NULL : next_line(reader);
  if (!line) {
    return NULL;
  }
  // Indented, it would be taken for more of the value above.
  const char* const start = line + strspn(line, " \t");
  const bool        read = is_to_read(reader, start) && *start != '[';
  const size_t      n_key = strcspn(start, "=");
  if (read && reader->quoted) {
    (void)snprintf(buffer, (size_t)n, "%.*s= .\n", (int)n_key, start);
  } else {
    (void)snprintf(buffer, (size_t)n, "%s\n", read ? start : "#");
  }
  return buffer;
}

/* Sections that stand twice */

static int
compare_sections(const void* a, const void* b) {
  const IniSection* const x = *(const IniSection* const*)a;
  const IniSection* const y = *(const IniSection* const*)b;
  const int               order = strcmp(x->name, y->name);
  return order ? order : x->line < y->line ? -1 : 1;
}

static void
check_sections(Reader* reader) {
  const IniFile* const     file = reader->file;
  const IniSection** const sorted =
    calloc(file->n_sections + 1U, sizeof(IniSection*));
  if (!sorted) {
    reader->status = VW_NO_MEMORY;
    return;
  }
  for (size_t i = 0; i < file->n_sections; ++i) {
    sorted[i] = &file->sections[i];
  }
  qsort(sorted, file->n_sections, sizeof(IniSection*), compare_sections);
  for (size_t i = 1; i < file->n_sections; ++i) {
    if (!strcmp(sorted[i - 1U]->name, sorted[i]->name)) {
      reader->line = sorted[i]->line;
      fault_about(reader,
                  "a section that stands twice",
                  sorted[i]->name,
                  "put its keys into one");
    }
  }
  free(sorted);
}

static void
clear_section(IniSection* section) {
  for (size_t i = 0; i < section->n_entries; ++i) {
    free(section->entries[i].key);
    free(section->entries[i].value);
  }
  free(section->entries);
  free(section->name);
}

void
ini_clear(IniFile* file) {
  if (file) {
    for (size_t i = 0; i < file->n_sections; ++i) {
      clear_section(&file->sections[i]);
    }
    free(file->sections);
    *file = (IniFile){0};
  }
}

/* Files */

/// Read a file of at most a byte more than is allowed. Its length comes back.
static VwStatus
load(const char* path, char** text, size_t* n_bytes) {
  struct stat facts;
  if (stat(path, &facts)) {
    return errno == ENOENT || errno == ENOTDIR ? VW_MISSING : VW_UNREADABLE;
  }
  if (!S_ISREG(facts.st_mode)) {
    return VW_NOT_REGULAR;
  }
  FILE* const stream = fopen(path, "rb");
  char* const bytes = stream ? malloc(BYTES_MOST + 2U) : NULL;
  VwStatus    st = !stream ? VW_UNREADABLE : bytes ? VW_OK : VW_NO_MEMORY;
  if (!st) {
    *n_bytes = fread(bytes, 1U, BYTES_MOST + 1U, stream);
    bytes[*n_bytes] = '\0';
    st = ferror(stream) ? VW_UNREADABLE : VW_OK;
  }
  if (stream) {
    (void)fclose(stream); // it was only read
  }
  if (st) {
    free(bytes);
    return st;
  }
  *text = bytes;
  return VW_OK;
}

static void
read_text(Reader* reader, size_t n_bytes) {
  if (strlen(reader->text) < n_bytes) {
    fault(reader, 0, "it holds bytes of 0 and is no text", "give a text file");
    return;
  }
  const bool marked = !strncmp(reader->text, "\xEF\xBB\xBF", 3);
  reader->next = reader->text + (marked ? 3 : 0);
  (void)ini_parse_stream(give_line, reader, take_key, reader);
  free(reader->quoted);
  if (!reader->status) {
    check_sections(reader);
  }
}

/// Read the text that a reader holds, and free it.
static VwStatus
read_held(Reader* reader, size_t n_bytes, IniFile* file) {
  IniFile read = {0};
  reader->file = &read;
  read_text(reader, n_bytes);
  free(reader->text);
  if (reader->status) {
    ini_clear(&read);
    return reader->status;
  }
  *file = read;
  return VW_OK;
}

VwStatus
ini_read(const char* path,
         const char* repeatable,
         IniFile*    file,
         VwFaults*   faults) {
  size_t n_bytes = 0;
  Reader reader = {.path = path, .repeatable = repeatable, .faults = faults};
  const VwStatus st = load(path, &reader.text, &n_bytes);
  if (!st && n_bytes > BYTES_MOST) {
    fault(&reader, 0, "it is longer than 1 MB", "give less text, or split it");
    n_bytes = 0;
    *reader.text = '\0';
  }
  return st ? st : read_held(&reader, n_bytes, file);
}
