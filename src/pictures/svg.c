#include "pictures/internal.h"

#include <stdio.h>
#include <string.h>

// A page has few parts with a number of the process.
#define NAMES_MOST 16U

// What XML 1.0 (fifth edition, 2.2) has no place for: most control characters,
// and U+FFFE and U+FFFF.
static bool
is_no_xml(const char* text) {
  const unsigned char first = (unsigned char)text[0];
  return (first < 0x20U && first != '\t' && first != '\n' && first != '\r') ||
         !strncmp(text, "\xEF\xBF\xBE", 3U) ||
         !strncmp(text, "\xEF\xBF\xBF", 3U);
}

/// Put a text as XML wants it.
static void
put_escaped(VwSink* sink, const char* text) {
  for (; *text; ++text) {
    switch (*text) {
      case '&':
        vw_sink_put_text(sink, "&amp;");
        break;
      case '<':
        vw_sink_put_text(sink, "&lt;");
        break;
      case '>':
        vw_sink_put_text(sink, "&gt;");
        break;
      default:
        if (is_no_xml(text)) {
          vw_sink_put_text(sink, "?");
          text += *text == '\xEF' ? 2 : 0;
        } else {
          (void)vw_sink_put(sink, text, 1U);
        }
    }
  }
}

static void
put_element(VwSink* sink, const char* name, const char* text) {
  if (text && *text) {
    vw_sink_put_text(sink, "<");
    vw_sink_put_text(sink, name);
    vw_sink_put_text(sink, ">");
    put_escaped(sink, text);
    vw_sink_put_text(sink, "</");
    vw_sink_put_text(sink, name);
    vw_sink_put_text(sink, ">\n");
  }
}

/* Names */

/// Names of parts that tell how many pictures the process drew before.
typedef struct {
  struct {
    const char* start;
    size_t      n;
  } names[NAMES_MOST];
  size_t n;
} Names;

/// Letters and clips are counted anew in every picture.
static bool
is_of_page(const char* name) {
  return !strncmp(name, "glyph", 5U) || !strncmp(name, "clip", 4U);
}

static Names
names_of(const char* text) {
  Names names = {.n = 0};
  while (names.n < NAMES_MOST && (text = strstr(text, " id=\""))) {
    text += 5;
    if (!is_of_page(text)) {
      names.names[names.n].start = text;
      names.names[names.n++].n = strcspn(text, "\"");
    }
  }
  return names;
}

/// Which of the names stands here; their number for none.
static size_t
name_at(const Names* names, const char* text) {
  size_t i = 0;
  while (i < names->n &&
         (strncmp(text, names->names[i].start, names->names[i].n) != 0 ||
          !text[names->names[i].n] ||
          !strchr("\")", text[names->names[i].n]))) {
    ++i;
  }
  return i;
}

/// Put the drawn text, its parts counted from 1.
static void
put_counted(VwSink* sink, const char* text) {
  const Names names = names_of(text);
  for (size_t n = strcspn(text, "\"#"); text[n]; n = strcspn(text, "\"#")) {
    const size_t i = name_at(&names, text + n + 1U);
    (void)vw_sink_put(sink, text, n + 1U);
    text += n + 1U;
    if (i < names.n) {
      char name[32];
      (void)snprintf(name, sizeof(name), "part-%zu", i + 1U);
      vw_sink_put_text(sink, name);
      text += names.names[i].n;
    }
  }
  vw_sink_put_text(sink, text);
}

VwStatus
vw_svg_describe(const VwSink* drawn,
                const char*   title,
                const char*   description,
                VwBytes*      bytes) {
  const char* const text = (const char*)drawn->bytes.data;
  const char* const root = drawn->full || !text ? NULL : strstr(text, "<svg");
  const char* const end = root ? strchr(root, '>') : NULL;
  if (!end) {
    return VW_NO_MEMORY;
  }
  const size_t n_before = (size_t)(end + 1 - text);
  VwSink       out = {0};
  (void)vw_sink_put(&out, text, n_before);
  vw_sink_put_text(&out, "\n");
  put_element(&out, "title", title);
  put_element(&out, "desc", description);
  put_counted(&out, end + 1);
  if (out.full) {
    vw_sink_clear(&out);
    return VW_NO_MEMORY;
  }
  *bytes = out.bytes;
  return VW_OK;
}
