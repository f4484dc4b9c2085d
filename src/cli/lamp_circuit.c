// The circuit of a timer in characters. Values stand below it.

#include "lamp_report.h"

static const char* const with_diode[] = {
  "  +Vcc o---+------------------+-----+",
  "           |                  |     |",
  "          [RA]              8 |   4 |",
  "           |             +----+-----+----+",
  "           +-----------7 |               |",
  "           |    |        |               |",
  "          [RB]  V  D     |      555      | 3 ---[R]--->|--- 0 V",
  "           |   ---       |               |            LED",
  "           |    |        |               |",
  "           +----+----+-6 |               |",
  "           |         +-2 |               |",
  "           |             +-----+-----+---+",
  "          === C              1 |   5 |",
  "           |                   |    === 10 nF",
  "   0 V o---+-------------------+-----+",
};

static const char* const lit_while_high[] = {
  "  +Vcc o---+------------------+-----+",
  "           |                  |     |",
  "          [RA]              8 |   4 |",
  "           |             +----+-----+----+",
  "           +-----------7 |               |",
  "           |             |               |",
  "          [RB]           |      555      | 3 ---[R]--->|--- 0 V",
  "           |             |               |            LED",
  "           |             |               |",
  "           +---------+-6 |               |",
  "           |         +-2 |               |",
  "           |             +-----+-----+---+",
  "          === C              1 |   5 |",
  "           |                   |    === 10 nF",
  "   0 V o---+-------------------+-----+",
};

static const char* const lit_while_low[] = {
  "  +Vcc o---+------------------+-----+",
  "           |                  |     |",
  "          [RA]              8 |   4 |",
  "           |             +----+-----+----+",
  "           +-----------7 |               |",
  "           |             |               |",
  "          [RB]           |      555      | 3 ---[R]---|<--- +Vcc",
  "           |             |               |            LED",
  "           |             |               |",
  "           +---------+-6 |               |",
  "           |         +-2 |               |",
  "           |             +-----+-----+---+",
  "          === C              1 |   5 |",
  "           |                   |    === 10 nF",
  "   0 V o---+-------------------+-----+",
};

#define N_LINES (sizeof(with_diode) / sizeof(with_diode[0]))

void
lamp_circuit(const LampReport* report, const LampTimer* timer, FILE* out) {
  const char* const* lines = timer->timer.lit_while_low ? lit_while_low
                             : timer->timer.wiring == VW_WIRING_DIODE
                               ? with_diode
                               : lit_while_high;
  (void)report;
  for (size_t i = 0; i < N_LINES; ++i) {
    fprintf(out, "    %s\n", lines[i]);
  }
}
