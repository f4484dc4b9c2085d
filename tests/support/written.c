#include "container/container.h"
#include "support/made.h"
#include "support/riff.h"

#include <stdlib.h>

VwSound
made_written(const VwFamily* family, VwPart part, uint64_t seed) {
  const VwPiece* const piece = made_piece(family, part);
  VwBytes              bytes = {NULL, 0};
  Riff                 riff;
  if (!piece || vw_encode_wav(piece, &family->format, seed, &bytes) ||
      !riff_parse(&bytes, &riff)) {
    abort();
  }
  const VwSound sound = riff_sound(&riff, &bytes);
  vw_bytes_clear(&bytes);
  return sound;
}
