// The page without the program in it: it plays the files that were made.

#include "cli/page/page.h"

#include "base/caution.h"
#include "container/container.h"

#include <stdlib.h>
#include <string.h>

const char page_plain_words[] =
  "it only plays what was made: tools/build-page makes the page that has the "
  "whole program in it, and the build's option -Dpage=true installs that";

/// Write text as HTML has it.
static void
put_html(FILE* out, const char* text) {
  char* const safe = text_safe(text);
  for (const char* at = safe ? safe : ""; *at; ++at) {
    if (strchr("<>&\"'", *at)) {
      fprintf(out, "&#%d;", *at);
    } else {
      fputc(*at, out);
    }
  }
  free(safe);
}

/// Write a path as a link has it (RFC 3986, 2.3).
static void
put_link(FILE* out, const char* path) {
  for (const char* at = path; *at; ++at) {
    const bool plain = strchr("-._~/", *at) || (*at >= '0' && *at <= '9') ||
                       (*at >= 'A' && *at <= 'Z') || (*at >= 'a' && *at <= 'z');
    fprintf(out, plain ? "%c" : "%%%02X", (unsigned char)*at);
  }
}

void
page_plain_begin(FILE* out, const char* title) {
  fputs(
    "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n"
    "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src "
    "'none'; media-src 'self' file: data:\">\n"
    "<meta name=\"viewport\" content=\"width=device-width, "
    "initial-scale=1\">\n"
    "<meta name=\"color-scheme\" content=\"light dark\">\n<title>",
    out);
  put_html(out, *title ? title : "Sounds");
  fputs("</title>\n</head>\n<body>\n<main>\n<h1>", out);
  put_html(out, *title ? title : "Sounds");
  fprintf(out,
          "</h1>\n<p>As a plain page, %s.</p>\n"
          "<p><strong>Loud.</strong> Caution: %s.</p>\n",
          page_plain_words,
          caution_text(VW_CAUTION_HEARING));
}

/// Begin a player up to its source.
static void
begin_player(FILE* out, const char* name, VwPart part) {
  const char* const word = vw_part_name(part);
  fprintf(out, "<p>%s<br><audio controls preload=\"none\"", word);
  fputs(part == VW_PART_LOOP ? " loop aria-label=\"" : " aria-label=\"", out);
  put_html(out, name);
  fprintf(out, ": %s\" src=\"", word);
}

static void
put_title(FILE* out, const char* name) {
  fputs("<h2>", out);
  put_html(out, name);
  fputs("</h2>\n", out);
}

VwStatus
page_plain_family(FILE*           out,
                  const char*     name,
                  const VwFamily* family,
                  uint64_t        seed) {
  const VwWrapping wrapping = {
    .container = VW_CONTAINER_WAV, .format = family->format, .seed = seed};
  VwStatus st = VW_OK;
  put_title(out, name);
  for (size_t i = 0; !st && i < family->n_pieces; ++i) {
    VwBytes bytes = {0};
    st = vw_encode(&family->pieces[i], &wrapping, &bytes);
    char* const text = st ? NULL : page_base64(&bytes);
    st = st || text ? st : VW_NO_MEMORY;
    if (text) {
      begin_player(out, name, family->pieces[i].part);
      fprintf(out, "data:audio/wav;base64,%s\"></audio></p>\n", text);
    }
    free(text);
    vw_bytes_clear(&bytes);
  }
  return st;
}

/// Write a player for a file that lies beside the page, if browsers play it.
static void
put_file(FILE*             out,
         const PackRun*    run,
         const char*       name,
         const VwPackFile* of) {
  if (run->board->container == VW_CONTAINER_RAW ||
      run->board->container == VW_CONTAINER_C_ARRAY) {
    fprintf(out, "<p>%s: no browser plays it</p>\n", vw_part_name(of->part));
    return;
  }
  begin_player(out, name, of->part);
  put_link(out, run->board->name);
  fputc('/', out);
  put_link(out, of->name);
  fputs("\"></audio></p>\n", out);
}

static void
put_failure(FILE* out, VwStatus status) {
  char* const message = status_message(status);
  fputs("<p>It could not be made: ", out);
  put_html(out, message ? message : "");
  fputs("</p>\n", out);
  free(message);
}

void
page_plain_pack(FILE* out, const PackRun* run) {
  const VwPack* const pack = &run->pack;
  for (size_t i = 0; i < pack->n_sounds; ++i) {
    const VwPackSound* const sound = &pack->sounds[i];
    char* const              name =
      text_format("%s, %s", sound->wish->name, run->board->name);
    put_title(out, name ? name : "");
    for (size_t k = 0; !sound->status && k < sound->n_files; ++k) {
      put_file(out, run, name ? name : "", &sound->files[k]);
    }
    if (sound->status) {
      put_failure(out, sound->status);
    }
    free(name);
  }
}
