// Circuits in characters. Values stand below them.

#include "cli/lamp/lamp_report.h"
#include "lamp/lamp.h"

// P is the trimmer: its middle leg goes to one of the outer ones.

static const char* const with_diode[] = {
  "  +Vcc o---+------------------+-----+------+",
  "           |                  |     |      |",
  "          [RA]              8 |   4 |     === 100 nF",
  "           |             +----+-----+---+  |",
  "           +----+------7 |              |  0 V",
  "           |    |        |              |",
  "          [RB]  V  D     |     555      | 3",
  "           |   ---       |              |            LED",
  "       +->[P]   |        |              |",
  "       |   |    |        |              |",
  "       +---+----+----+-6 |              |",
  "           |         +-2 |              |",
  "           |             +-----+-----+--+",
  "          === C              1 |   5 |",
  "           |                   |    === 10 nF",
  "   0 V o---+-------------------+-----+",
};

static const char* const trimmed_rb[] = {
  "  +Vcc o---+------------------+-----+------+",
  "           |                  |     |      |",
  "          [RA]              8 |   4 |     === 100 nF",
  "           |             +----+-----+---+  |",
  "           +-----------7 |              |  0 V",
  "           |             |              |",
  "          [RB]           |     555      | 3",
  "           |             |              |            LED",
  "       +->[P]            |              |",
  "       |   |             |              |",
  "       +---+---------+-6 |              |",
  "           |         +-2 |              |",
  "           |             +-----+-----+--+",
  "          === C              1 |   5 |",
  "           |                   |    === 10 nF",
  "   0 V o---+-------------------+-----+",
};

static const char* const trimmed_ra[] = {
  "  +Vcc o---+------------------+-----+------+",
  "           |                  |     |      |",
  "       +->[P]               8 |   4 |     === 100 nF",
  "       |   |             +----+-----+---+  |",
  "       +---+             |              |  0 V",
  "           |             |              |",
  "          [RA]           |     555      | 3",
  "           |             |              |            LED",
  "           +-----------7 |              |",
  "          [RB]           |              |",
  "           +---------+-6 |              |",
  "           |         +-2 |              |",
  "           |             +-----+-----+--+",
  "          === C              1 |   5 |",
  "           |                   |    === 10 nF",
  "   0 V o---+-------------------+-----+",
};

#define N_LINES (sizeof(with_diode) / sizeof(with_diode[0]))

// The line with the lamp.
#define LAMP_LINE 6U

void
lamp_circuit(const LampTimer* timer, FILE* out) {
  const char* const* lines = timer->timer.wiring == VW_WIRING_DIODE ? with_diode
                             : timer->timer.trims_ra                ? trimmed_ra
                                                     : trimmed_rb;
  for (size_t i = 0; i < N_LINES; ++i) {
    fputs("    ", out);
    fputs(lines[i], out);
    if (i == LAMP_LINE) {
      fputs(timer->timer.lit_while_low ? " ---[R]---|<--- +Vcc"
                                       : " ---[R]--->|--- 0 V",
            out);
    }
    fputc('\n', out);
  }
}

void
lamp_detector(FILE* out) {
  static const char* const lines[] = {
    "              C1        D",
    "  channel 2 o--||---+--->|---+------+---[R1]---B T C---[R]---|<---o +Vcc",
    "                    |        |      |            E           LED",
    "                   ---       |      |            |",
    "                  D ^    C2 ===    [R2]          |",
    "                    |        |      |            |",
    "        0 V o-------+--------+------+------------+",
  };
  for (size_t i = 0; i < sizeof(lines) / sizeof(lines[0]); ++i) {
    fprintf(out, "    %s\n", lines[i]);
  }
}
