#include "cli/lamp/lamp_comment.h"

#include <string.h>

#define COLUMNS 72U

/// A text as lines of a comment.
static void
comment(FILE* out, const char* text) {
  size_t column = 0;
  fprintf(out, " *");
  while (*text) {
    const size_t n = strcspn(text, " ");
    if (column + n > COLUMNS) {
      fprintf(out, "\n *");
      column = 0;
    }
    fprintf(out, " %.*s", (int)n, text);
    column += n + 1U;
    text += n + strspn(text + n, " ");
  }
  fprintf(out, "\n");
}

void
lamp_comment_cautions(const LampReport* report, FILE* out) {
  const char* text = NULL;
  for (size_t i = 0; (text = lamp_caution(report, i)); ++i) {
    fprintf(out, " *\n * CAUTION:\n");
    comment(out, text);
  }
}
