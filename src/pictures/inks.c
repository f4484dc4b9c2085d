#include "pictures/inks.h"

unsigned
vw_ink_colour(VwInk ink) {
  // The set of eight of "Color Universal Design (CUD): How to make figures and
  // presentations that are friendly to colorblind people" (2008).
  static const unsigned colours[] = {
    [VW_INK_BLACK] = 0x000000U,
    [VW_INK_ORANGE] = 0xE69F00U,
    [VW_INK_SKY_BLUE] = 0x56B4E9U,
    [VW_INK_GREEN] = 0x009E73U,
    [VW_INK_YELLOW] = 0xF0E442U,
    [VW_INK_BLUE] = 0x0072B2U,
    [VW_INK_VERMILION] = 0xD55E00U,
    [VW_INK_PURPLE] = 0xCC79A7U,
    [VW_INK_GREY] = 0x606060U,
    [VW_INK_PALE] = 0xD0D0D0U,
    // 3.2 to 1 to white, and 6.5 to 1 to black.
    [VW_INK_SILVER] = 0x909090U,
  };
  return colours[ink];
}
