#include "base/text.h"

#include <string.h>

#define COUNT(array) (sizeof(array) / sizeof((array)[0]))

unsigned
vw_utf8_read(const char* text, uint32_t* code) {
  // How a character of one byte to four starts, and the least it stands for.
  static const struct {
    unsigned char mask;
    unsigned char mark;
    uint32_t      least;
  } heads[] = {{0x80U, 0x00U, 0x01U},
               {0xE0U, 0xC0U, 0x80U},
               {0xF0U, 0xE0U, 0x800U},
               {0xF8U, 0xF0U, 0x10000U}};

  const unsigned char first = (unsigned char)text[0];
  unsigned            n = 0;
  while (n < 4U && (first & heads[n].mask) != heads[n].mark) {
    ++n;
  }
  uint32_t read = n < 4U ? first & (unsigned char)~heads[n].mask : 0U;
  for (unsigned i = 1; n < 4U && i <= n; ++i) {
    const unsigned char byte = (unsigned char)text[i];
    if ((byte & 0xC0U) != 0x80U) {
      return 0; // the text's closing zero too: nothing beyond it is read
    }
    read = read << 6U | (byte & 0x3FU);
  }
  const bool surrogate = read >= 0xD800U && read <= 0xDFFFU;
  if (n == 4U || read < heads[n].least || read > 0x10FFFFU || surrogate) {
    return 0;
  }
  if (code) {
    *code = read;
  }
  return n + 1U;
}

bool
vw_utf8_is_valid(const char* text) {
  unsigned n = 0;
  while ((n = vw_utf8_read(text, NULL))) {
    text += n;
  }
  return !*text;
}

size_t
vw_utf8_count(const char* text) {
  size_t n = 0;
  for (; *text; ++text) {
    // All but the bytes that go on with a character.
    n += ((unsigned char)*text & 0xC0U) != 0x80U;
  }
  return n;
}

/* Letter case */

/// Capital letters in a row, and how far off their small ones are.
typedef struct {
  uint32_t first;
  uint32_t last;
  uint32_t step; ///< 2: each capital is followed by its small letter.
  int32_t  to_small;
} Capitals;

// The simple case mappings of the Unicode Character Database, from memory:
// Latin, Greek, Cyrillic, Armenian and the wide forms of Latin letters.
static const Capitals capitals[] = {
  {0x41, 0x5A, 1, 32},    {0xC0, 0xD6, 1, 32},     {0xD8, 0xDE, 1, 32},
  {0x100, 0x12E, 2, 1},   {0x132, 0x136, 2, 1},    {0x139, 0x147, 2, 1},
  {0x14A, 0x176, 2, 1},   {0x178, 0x178, 1, -121}, {0x179, 0x17D, 2, 1},
  {0x1CD, 0x1DB, 2, 1},   {0x1DE, 0x1EE, 2, 1},    {0x1F8, 0x21E, 2, 1},
  {0x222, 0x232, 2, 1},   {0x386, 0x386, 1, 38},   {0x388, 0x38A, 1, 37},
  {0x38C, 0x38C, 1, 64},  {0x38E, 0x38F, 1, 63},   {0x391, 0x3A1, 1, 32},
  {0x3A3, 0x3AB, 1, 32},  {0x400, 0x40F, 1, 80},   {0x410, 0x42F, 1, 32},
  {0x460, 0x480, 2, 1},   {0x48A, 0x4BE, 2, 1},    {0x4C1, 0x4CD, 2, 1},
  {0x4D0, 0x52E, 2, 1},   {0x531, 0x556, 1, 48},   {0x1E00, 0x1E94, 2, 1},
  {0x1EA0, 0x1EFE, 2, 1}, {0xFF21, 0xFF3A, 1, 32},
};

/// Small letters with a mark on them, each followed by the letter without it.
typedef struct {
  uint32_t    mark;
  const char* pairs;
} Marked;

// The canonical decompositions of Latin, Greek, Cyrillic and kana (Unicode
// Character Database): a name of such letters is the same in two codings.
static const Marked marked[] = {
  {0x300, "àaèeìiòoùuǜüǹnѐеѝиḕēṑōẁwầâằăềêồôờơừưỳy"},
  {0x301,
   "áaéeíióoúuýyćcĺlńnŕrśsźzǘüǵgǻåǽæǿø΅¨ΐϊάαέεήηίιΰϋόούυώωϓϒѓгќкḉçḗē"
   "ḯïḱkḿmṍõṓōṕpṹũẃwấâắăếêốôớơứư"},
  {0x302, "âaêeîiôoûuĉcĝgĥhĵjŝsŵwŷyẑzậạệẹộọ"},
  {0x303, "ãañnõoĩiũuṽvẫâẵăẽeễêỗôỡơữưỹy"},
  {0x304, "āaēeīiōoūuǖüǟäǡȧǣæǭǫȫöȭõȱȯȳyӣиӯуḡgḹḷṝṛ"},
  {0x306, "ăaĕeğgĭiŏoŭuйиўуӂжӑаӗеḝȩặạ"},
  {0x307, "ċcėeġgżzȧaȯoḃbḋdḟfḣhṁmṅnṗpṙrṡsṥśṧšṩṣṫtẇwẋxẏyẛſ"},
  {0x308, "äaëeïiöoüuÿyϊιϋυϔϒёеїіӓаӛәӝжӟзӥиӧоӫөӭэӱуӵчӹыḧhṏõṻūẅwẍxẗt"},
  {0x309, "ảaẩâẳăẻeểêỉiỏoổôởơủuửưỷy"},
  {0x30A, "åaůuẘwẙy"},
  {0x30B, "őoűuӳу"},
  {0x30C, "čcďděeľlňnřršsťtžzǎaǐiǒoǔuǚüǧgǩkǯʒǰjȟh"},
  {0x30F, "ȁaȅeȉiȍoȑrȕuѷѵ"},
  {0x311, "ȃaȇeȋiȏoȓrȗu"},
  {0x31B, "ơoưu"},
  {0x323, "ḅbḍdḥhḳkḷlṃmṇnṛrṣsṭtṿvẉwẓzạaẹeịiọoợơụuựưỵy"},
  {0x324, "ṳu"},
  {0x325, "ḁa"},
  {0x326, "șsțt"},
  {0x327, "çcģgķkļlņnŗrşsţtȩeḑdḩh"},
  {0x328, "ąaęeįiųuǫo"},
  {0x32D, "ḓdḙeḽlṋnṱtṷu"},
  {0x32E, "ḫh"},
  {0x330, "ḛeḭiṵu"},
  {0x331, "ḇbḏdḵkḻlṉnṟrṯtẕzẖh"},
  {0x3099,
   "がかぎきぐくげけごこざさじしずすぜせぞそだたぢちづつでてどとばは"
   "びひぶふべへぼほゔうゞゝガカギキグクゲケゴコザサジシズスゼセゾソ"
   "ダタヂチヅツデテドトバハビヒブフベヘボホヴウヷワヸヰヹヱヺヲヾヽ"},
  {0x309A, "ぱはぴひぷふぺへぽほパハピヒプフペヘポホ"},
};

/// What is left of a name.
typedef struct {
  const char* at;
  const char* end;
  bool        apart;    ///< Marks are read apart from their letters.
  uint32_t    marks[4]; ///< Of the character read, the next last.
  unsigned    n_marks;
} Rest;

/// The next character as it is coded, 0 at the end.
static uint32_t
read_next(Rest* rest) {
  uint32_t code = 0;
  if (rest->at == rest->end) {
    return 0;
  }
  const unsigned n = vw_utf8_read(rest->at, &code);
  if (!n || n > (size_t)(rest->end - rest->at)) {
    return 0x110000U + (unsigned char)*rest->at++; // no character at all
  }
  rest->at += n;
  return code;
}

static uint32_t
small(uint32_t code) {
  for (size_t i = 0; i < COUNT(capitals); ++i) {
    const Capitals* const row = &capitals[i];
    if (code >= row->first && code <= row->last &&
        (code - row->first) % row->step == 0U) {
      return (uint32_t)((int32_t)code + row->to_small);
    }
  }
  return code;
}

/// The mark on a small letter, and that letter without it; 0: none.
static uint32_t
mark_on(uint32_t* code) {
  for (size_t i = 0; *code >= 0x80U && i < COUNT(marked); ++i) {
    uint32_t with = 0;
    uint32_t without = 0;
    for (const char* at = marked[i].pairs; *at;) {
      at += vw_utf8_read(at, &with);
      at += vw_utf8_read(at, &without);
      if (with == *code) {
        *code = without;
        return marked[i].mark;
      }
    }
  }
  return 0;
}

/// The next letter in small, or of letters and marks the next of both.
static uint32_t
next(Rest* rest) {
  if (rest->n_marks) {
    return rest->marks[--rest->n_marks];
  }
  uint32_t code = small(read_next(rest));
  uint32_t mark = 0;
  while (rest->apart && rest->n_marks < COUNT(rest->marks) &&
         (mark = mark_on(&code))) {
    rest->marks[rest->n_marks++] = mark;
  }
  return code;
}

static int
compare(Rest x, Rest y) {
  uint32_t one = 0;
  uint32_t other = 0;
  do {
    one = next(&x);
    other = next(&y);
  } while (one && one == other);
  return one < other ? -1 : one > other;
}

int
vw_compare_without_case(const char* a, const char* b) {
  return compare((Rest){.at = a, .end = a + strlen(a)},
                 (Rest){.at = b, .end = b + strlen(b)});
}

int
vw_compare_however_coded(const char* a, const char* b) {
  return compare((Rest){.at = a, .end = a + strlen(a), .apart = true},
                 (Rest){.at = b, .end = b + strlen(b), .apart = true});
}

bool
vw_same_without_case(const char* a, size_t n_a, const char* b, size_t n_b) {
  return !compare((Rest){.at = a, .end = a + n_a},
                  (Rest){.at = b, .end = b + n_b});
}
