/// @file
/// What the lamp command is asked for, beside what it shares with others.
#ifndef VW_CLI_LAMP_SETTINGS_H
#define VW_CLI_LAMP_SETTINGS_H

#include "lamp/lamp.h"

#include <volleyweave/volleyweave.h>

/// Zero, or NaN where said, stands for what was not given.
typedef struct {
  double      duty;     ///< A share of the period.
  double      supply_v; ///< Default 5.
  int         chip;     ///< #VwChip; -1: as the supply allows.
  int         wiring;   ///< #VwWiring; -1: with a diode, if it can be.
  bool        schottky;
  double      diode_drop_v;        ///< At 1 mA.
  double      capacitor_tolerance; ///< A share; NaN: as is usual.
  VwESeries   series;
  double      capacitors_farad[VW_CAPACITORS_MOST];
  size_t      n_capacitors;
  VwCounter   counter;    ///< Counts where a clock is given.
  double      timer_bits; ///< Default 16.
  double      brightness_steps;
  double      gamma; ///< Default 2.2.
  double      led_forward_v;
  double      led_current_a;
  double      n_leds;
  const char* header; ///< A file, or NULL.
} LampSettings;

/// The defaults.
LampSettings lamp_settings_defaults(void);

#endif
