#include "container/formats.h"

#include "base/caution.h"
#include "base/status.h"

#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

// In front of every name: with it no word of the language, no function of its
// library and no leading digit can be one.
#define PREFIX "sound_"

// Letters of a name that tell it from others (C11, 5.2.4.1: 63 are sure to),
// with the prefix and the longest ending of a constant.
#define NAME_LETTERS_MOST 40U

#define CODES_A_LINE 12U

/// A name as a C identifier, small and large.
typedef struct {
  char small[sizeof(PREFIX) + NAME_LETTERS_MOST];
  char large[sizeof(PREFIX) + NAME_LETTERS_MOST];
} Identifier;

static const char*
type_of(VwEncoding encoding) {
  return encoding == VW_ENCODING_U8    ? "uint8_t"
         : encoding == VW_ENCODING_S16 ? "int16_t"
                                       : "int32_t";
}

static Identifier
identifier_of(const char* name) {
  static const char letters[] =
    "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789";
  Identifier identifier = {PREFIX, ""};
  size_t     n = strlen(PREFIX);
  for (const char* at = name; *at && n < sizeof(identifier.small) - 1U; ++at) {
    identifier.small[n++] = '_';
    if (strchr(letters, *at)) {
      identifier.small[n - 1U] = *at;
    }
  }
  for (size_t i = 0; i < n; ++i) {
    const char c = identifier.small[i];
    identifier.large[i] = c >= 'a' && c <= 'z' ? (char)(c - 'a' + 'A') : c;
  }
  return identifier;
}

/// Where the loop lies; a piece that is a loop is one from end to end.
static void
put_loop(FILE* to, const VwPiece* piece, const char* large) {
  const bool is_loop = piece->part == VW_PART_LOOP && !piece->has_loop;
  if (!piece->has_loop && !is_loop) {
    return;
  }
  fprintf(to,
          "/* The first frame of the loop, and one past its last. */\n"
          "#define %s_LOOP_START %zuUL\n"
          "#define %s_LOOP_END %zuUL\n",
          large,
          is_loop ? (size_t)0 : piece->loop_start,
          large,
          is_loop ? piece->sound.n_frames : piece->loop_end);
}

static void
put_head(FILE*             to,
         const VwPiece*    piece,
         VwEncoding        encoding,
         const Identifier* name) {
  const VwSound* const sound = &piece->sound;
  const char* const    large = name->large;
  fprintf(to,
          "/*\n * Sound made by volleyweave: %s%s.\n",
          vw_encoding_name(encoding),
          encoding == VW_ENCODING_U8 ? ", silence is 128" : "");
  vw_caution_comment(vw_caution(VW_CAUTION_HEARING, 0), to);
  fprintf(to,
          " */\n"
          "#ifndef %s_H\n"
          "#define %s_H\n\n"
          "#include <stdint.h>\n\n",
          large,
          large);
  fprintf(to,
          "/* What puts constants where the sound is to lie; may be defined "
          "before. */\n"
          "#ifndef VOLLEYWEAVE_PLACE\n"
          "#define VOLLEYWEAVE_PLACE\n"
          "#endif\n\n");
  fprintf(to,
          "#define %s_FRAMES %zuUL\n"
          "#define %s_CHANNELS %uU\n"
          "#define %s_SAMPLE_RATE_HZ %uUL\n",
          large,
          sound->n_frames,
          large,
          sound->n_channels,
          large,
          sound->rate_hz);
  put_loop(to, piece, large);
}

static void
put_codes(FILE* to, const VwBytes* codes, VwEncoding encoding, size_t n_codes) {
  for (size_t i = 0; i < n_codes; ++i) {
    fprintf(to,
            "%s%" PRId32,
            i == 0                   ? "  "
            : i % CODES_A_LINE == 0U ? ",\n  "
                                     : ", ",
            vw_codes_at(codes, encoding, i));
  }
}

static bool
put_all(FILE*             to,
        const VwPiece*    piece,
        const VwWrapping* wrapping,
        const VwBytes*    codes) {
  const VwEncoding encoding = wrapping->format.encoding;
  const Identifier name = identifier_of(wrapping->name ? wrapping->name : "");
  const size_t     n_codes = piece->sound.n_frames * piece->sound.n_channels;
  put_head(to, piece, encoding, &name);
  fprintf(to,
          "\nstatic const %s %s[%zu] VOLLEYWEAVE_PLACE = {\n",
          type_of(encoding),
          name.small,
          n_codes);
  put_codes(to, codes, encoding, n_codes);
  fprintf(to, "\n};\n\n#endif\n");
  return !ferror(to);
}

static VwStatus
make_text(const VwPiece*    piece,
          const VwWrapping* wrapping,
          const VwBytes*    codes,
          VwBytes*          bytes) {
  char*       text = NULL;
  size_t      n_bytes = 0;
  FILE* const to = open_memstream(&text, &n_bytes);
  if (!to) {
    return VW_NO_MEMORY;
  }
  const bool whole = put_all(to, piece, wrapping, codes);
  if (fclose(to) || !whole) {
    free(text);
    return VW_NO_MEMORY;
  }
  *bytes = (VwBytes){(unsigned char*)text, n_bytes};
  return VW_OK;
}

VwStatus
vw_c_array_encode(const VwPiece*    piece,
                  const VwWrapping* wrapping,
                  VwBytes*          bytes) {
  VwBytes codes = {0};
  if (!piece->sound.n_frames) {
    return VW_NO_FRAMES; // C has no empty array
  }
  VwStatus st = vw_raw_encode(piece, wrapping, &codes);
  st = st ? st : make_text(piece, wrapping, &codes, bytes);
  vw_bytes_clear(&codes);
  return st;
}

/* Read back */

/// Behind the brace that opens the array, or NULL.
static const char*
first_code(const char* text) {
  const char* const brace = strchr(text, '{');
  return brace ? brace + 1 : NULL;
}

/// Read the codes up to the brace that ends them; `values` may be NULL.
static size_t
read_codes(const char* text, VwEncoding encoding, float* values) {
  size_t n = 0;
  for (const char* at = text; at && *at && *at != '}';) {
    char*      end = NULL;
    const long code = strtol(at, &end, 10);
    if (end == at) {
      return 0;
    }
    if (values) {
      values[n] = vw_code_value(encoding, code);
    }
    ++n;
    at = end + strspn(end, ", \n");
  }
  return n;
}

VwStatus
vw_c_array_decode(const VwBytes*  bytes,
                  const VwFormat* format,
                  VwSound*        sound) {
  char* const text = malloc(bytes->n_bytes + 1U);
  if (!text) {
    return VW_NO_MEMORY;
  }
  memcpy(text, bytes->data, bytes->n_bytes);
  text[bytes->n_bytes] = '\0';
  const char* const codes = first_code(text);
  const size_t      n = read_codes(codes, format->encoding, NULL);
  VwStatus          st =
    n ? vw_sound_init(
          sound, n / format->n_channels, format->n_channels, format->rate_hz)
               : VW_DAMAGED;
  if (!st && n % format->n_channels) {
    vw_sound_clear(sound);
    st = VW_DAMAGED;
  }
  if (!st) {
    (void)read_codes(codes, format->encoding, sound->values);
  }
  free(text);
  return st;
}
