#include "cli/options/ini.h"
#include "base/text.h"
#include "cli/message/message.h"
#include "store/store.h"

#include <ctype.h>
#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

// More at once help nobody.
#define SAID_MOST 20U

bool
fault_is_enough(const Faults* faults) {
  return faults->n >= SAID_MOST;
}

char*
fault_subject(const Faults* faults, unsigned line) {
  return line ? text_format("%s:%u", faults->path, line)
              : text_format("%s", faults->path);
}

void
fault_say(Faults* faults, unsigned line, const char* format, ...) {
  const bool enough = fault_is_enough(faults);
  ++faults->n;
  if (enough) {
    return;
  }
  va_list arguments;
  va_start(arguments, format);
  char* const subject = fault_subject(faults, line);
  char* const fault = text_format_list(format, arguments);
  say(subject, "%s", fault);
  free(subject);
  free(fault);
  va_end(arguments);
}

bool
fault_end(const Faults* faults) {
  if (faults->n > SAID_MOST) {
    say(faults->path, "more faults are not listed: mend these first");
  }
  return !faults->n;
}

#define BYTES_MOST 1000000U

#define COUNT(array) (sizeof(array) / sizeof((array)[0]))

// What some editors write at the start of a text in UTF-8.
#define MARK "\xEF\xBB\xBF"

#define BLANKS " \t"

/// A file being read.
typedef struct {
  IniFile*    file;
  Faults*     faults;
  const char* repeatable;
  unsigned    line;   ///< Of the line read last.
  bool        failed; ///< No memory was left.
} Reader;

static void
fault(Reader* reader, const char* what, const char* remedy) {
  fault_say(reader->faults, reader->line, "%s: %s", what, remedy);
}

/// A fault that names what it is about.
static void
fault_about(Reader*     reader,
            const char* what,
            const char* about,
            const char* remedy) {
  fault_say(reader->faults, reader->line, "%s: %s: %s", about, what, remedy);
}

/// The array with room for one more; it grows by doubling.
static void*
room_for(Reader* reader, void* array, size_t n, size_t size) {
  const bool  full = !(n & (n - 1U));
  void* const grown =
    full ? sure(realloc(array, (n ? 2U * n : 1U) * size)) : array;
  reader->failed = reader->failed || !grown;
  return grown ? grown : array;
}

/* Values in quotes */

/// What stands for one byte behind a backslash.
typedef struct {
  char letter;
  char byte;
} Escape;

static const Escape escapes[] = {{'"', '"'},
                                 {'\\', '\\'},
                                 {'n', '\n'},
                                 {'t', '\t'}};

/// Read what stands behind a backslash. Its length, or 0 where it is nothing.
static size_t
read_escape(const char* text, char* byte) {
  if (text[0] == 'x' && isxdigit((unsigned char)text[1]) &&
      isxdigit((unsigned char)text[2])) {
    const char digits[] = {text[1], text[2], '\0'};
    *byte = (char)strtoul(digits, NULL, 16);
    return *byte ? 3U : 0U;
  }
  for (size_t i = 0; i < COUNT(escapes); ++i) {
    if (escapes[i].letter == text[0]) {
      *byte = escapes[i].byte;
      return 1U;
    }
  }
  return 0;
}

/// Whether nothing, or a comment, is left of a line.
static bool
is_over(const char* rest) {
  const size_t n = strspn(rest, BLANKS);
  return !rest[n] || (n && rest[n] == ';');
}

/// Put what the quotes hold, which is never longer, in their place. Returns
/// what is wrong with it, or NULL.
static const char*
unquote(char* value) {
  const char* at = value + 1;
  char*       to = value;
  while (*at && *at != '"') {
    const size_t n = *at == '\\' ? read_escape(at + 1, to) : 0U;
    if (*at == '\\' && !n) {
      return "a backslash in quotes is followed by none of \" \\ n t xHH";
    }
    if (!n) {
      *to = *at;
    }
    at += 1U + n;
    ++to;
  }
  if (!*at) {
    return "the closing quote is missing";
  }
  if (!is_over(at + 1)) {
    return "there is text behind the closing quote";
  }
  *to = '\0';
  return vw_utf8_is_valid(value) ? NULL : "what the quotes hold is not UTF-8";
}

static bool
needs_quotes(const char* value) {
  const size_t n = strlen(value);
  return !n || strchr("\";#", value[0]) || isspace((unsigned char)value[0]) ||
         isspace((unsigned char)value[n - 1U]) || text_has_controls(value) ||
         strstr(value, " ;");
}

/// Write a byte as it stands in quotes. Returns what is behind it.
static char*
quote_byte(char byte, char* to) {
  static const char digits[] = "0123456789ABCDEF";
  for (size_t i = 0; i < COUNT(escapes); ++i) {
    if (escapes[i].byte == byte) {
      *to++ = '\\';
      *to++ = escapes[i].letter;
      return to;
    }
  }
  if (text_is_control(byte) || byte == ';') {
    *to++ = '\\';
    *to++ = 'x';
    *to++ = digits[(unsigned char)byte >> 4U];
    *to++ = digits[(unsigned char)byte & 0xFU];
  } else {
    *to++ = byte;
  }
  return to;
}

char*
ini_quote(const char* value) {
  char* const quoted = malloc(4U * strlen(value) + 3U);
  char*       to = quoted;
  if (!quoted) {
    return NULL;
  }
  if (!needs_quotes(value)) {
    return strcpy(quoted, value);
  }
  *to++ = '"';
  for (const char* at = value; *at; ++at) {
    to = quote_byte(*at, to);
  }
  *to++ = '"';
  *to = '\0';
  return quoted;
}

/* Lines */

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

/// Take the blanks at the end away.
static void
trim(char* text) {
  size_t n = strlen(text);
  while (n && strchr(BLANKS, text[n - 1U])) {
    text[--n] = '\0';
  }
}

/// The comment in a line, a semicolon behind a blank; or the line's end.
static char*
find_comment(char* line) {
  char* at = line;
  while (*at && !(*at == ';' && at > line && strchr(BLANKS, at[-1]))) {
    ++at;
  }
  return at;
}

/// Begin the section of a line "[name]".
static void
read_section(Reader* reader, char* line) {
  IniFile* const file = reader->file;
  char* const    end = strrchr(line, ']');
  const size_t   rest = end ? strspn(end + 1, BLANKS) : 0U;
  if (!end || (end[1U + rest] && end[1U + rest] != ';')) {
    fault(reader, "a section without its ]", "write [name]");
  } else if (end == line + 1) {
    fault(reader, "a section without a name", "write [name]");
  } else {
    *end = '\0';
    file->sections =
      room_for(reader, file->sections, file->n_sections, sizeof(IniSection));
    if (!reader->failed) {
      file->sections[file->n_sections++] =
        (IniSection){.name = line + 1, .line = reader->line};
    }
  }
}

static bool
stands_already(const Reader* reader, const char* key) {
  const IniFile* const    file = reader->file;
  const IniSection* const section = &file->sections[file->n_sections - 1U];
  if (reader->repeatable && !strcmp(key, reader->repeatable)) {
    return false;
  }
  for (size_t i = 1; i <= section->n_entries; ++i) {
    if (!strcmp(file->entries[file->n_entries - i].key, key)) {
      return true;
    }
  }
  return false;
}

static void
add_entry(Reader* reader, const char* key, const char* value) {
  IniFile* const file = reader->file;
  if (!file->n_sections) {
    fault_about(reader,
                "a key above the first section",
                key,
                "move it below a line such as [name]");
  } else if (stands_already(reader, key)) {
    fault_about(reader, "given twice in its section", key, "keep one of them");
  } else {
    file->entries =
      room_for(reader, file->entries, file->n_entries, sizeof(IniEntry));
    if (!reader->failed) {
      file->entries[file->n_entries++] = (IniEntry){key, value, reader->line};
      ++file->sections[file->n_sections - 1U].n_entries;
    }
  }
}

static void
read_key(Reader* reader, char* line) {
  char* const equals = strpbrk(line, "=:");
  if (!equals || equals == line || *equals == ':' ||
      find_comment(line) < equals) {
    fault(reader,
          "neither a section nor a key with its value",
          "write key = value, or begin the line with #");
    return;
  }
  char* const       value = equals + 1 + strspn(equals + 1, BLANKS);
  const bool        quoted = *value == '"';
  const char* const wrong = quoted ? unquote(value) : NULL;
  if (wrong) {
    fault(reader, wrong, "write key = \"value\"");
    return;
  }
  if (!quoted) {
    *find_comment(equals + 1) = '\0';
    trim(value);
  }
  *equals = '\0';
  trim(line);
  add_entry(reader, line, value);
}

static void
read_line(Reader* reader, char* line) {
  const char* const wrong = wrong_characters(line);
  char* const       start = line + strspn(line, BLANKS);
  if (wrong) {
    fault(reader, wrong, "write it with an editor for text");
  } else if (*start == '[') {
    read_section(reader, start);
  } else if (*start && *start != '#' && *start != ';') {
    read_key(reader, start);
  }
}

static void
read_lines(Reader* reader, char* text) {
  char* next = text + (strncmp(text, MARK, strlen(MARK)) ? 0U : strlen(MARK));
  while (*next && !reader->failed) {
    char* const  line = next;
    const size_t n = strcspn(line, "\n");
    next += n + (line[n] ? 1U : 0U);
    line[n] = '\0';
    if (n && line[n - 1U] == '\r') {
      line[n - 1U] = '\0';
    }
    ++reader->line;
    read_line(reader, line);
  }
}

/* Sections */

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
    reader->failed = true;
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

/// Give each section its keys, which stand still from here on.
static void
hand_out(IniFile* file) {
  size_t n = 0;
  for (size_t i = 0; i < file->n_sections; ++i) {
    file->sections[i].entries = file->entries ? &file->entries[n] : NULL;
    n += file->sections[i].n_entries;
  }
}

/* Files */

/// Read the text of a file. What cannot be read is no fault of it.
static VwStatus
read_text(Reader* reader) {
  const char* const path = reader->faults->path;
  struct stat       facts;
  VwBytes           bytes = {0};
  if (stat(path, &facts)) {
    return errno == ENOENT || errno == ENOTDIR ? VW_MISSING : VW_UNREADABLE;
  }
  if (S_ISREG(facts.st_mode) && facts.st_size > (off_t)BYTES_MOST) {
    fault(reader, "it is longer than 1 MB", "give less text, or split it");
    return VW_OK;
  }
  const VwStatus st = vw_file_read(path, &bytes);
  reader->file->text = (char*)bytes.data;
  if (st) {
    return st;
  }
  if (memchr(bytes.data, '\0', bytes.n_bytes)) {
    fault(reader, "it holds bytes of 0 and is no text", "give a text file");
    return VW_OK;
  }
  read_lines(reader, reader->file->text);
  hand_out(reader->file);
  check_sections(reader);
  return reader->failed ? VW_NO_MEMORY : VW_OK;
}

bool
ini_read(const char* repeatable, Faults* faults, IniFile* file) {
  Reader reader = {.file = file, .faults = faults, .repeatable = repeatable};
  *file = (IniFile){0};
  const VwStatus st = read_text(&reader);
  if (st) {
    say_status(faults->path, st);
    ini_clear(file);
  }
  return !st;
}

void
ini_clear(IniFile* file) {
  if (file) {
    free(file->sections);
    free(file->entries);
    free(file->text);
    *file = (IniFile){0};
  }
}

char*
ini_path(const char* text_file, const char* named) {
  return vw_path_sibling(named[0] == '/' ? "" : text_file, named, "");
}
