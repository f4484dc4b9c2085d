#include "cli/page/tryout_lamp.h"

#include "cli/lamp/lamp.h"
#include "cli/message/line.h"
#include "cli/message/text.h"
#include "lamp/lamp.h"

static void
add_text(JsonText* page, const char* key, const char* text) {
  json_text_add(page, "\"%s\":", key);
  json_text_string(page, text);
  json_text_add(page, ",");
}

static void
add_parts(JsonText* page, const LampTimer* of) {
  const VwTimer* const timer = &of->timer;
  const bool           diode = timer->wiring == VW_WIRING_DIODE;
  char                 text[40];
  json_text_add(page, "{");
  add_text(page, "supply", line_value(text, of->wish.supply_v, 1, "V"));
  add_text(page, "c", lamp_farad(text, timer->c_farad));
  add_text(page, "plain", lamp_ohm(text, timer->plain_ohm));
  add_text(page, "fixed", lamp_ohm(text, timer->fixed_ohm));
  add_text(page, "trimmer", lamp_ohm(text, timer->trimmer_ohm));
  add_text(page, "set", lamp_ohm(text, timer->set_ohm));
  add_text(
    page, "led", of->led.status ? NULL : lamp_ohm(text, of->led.led.next_ohm));
  json_text_add(page,
                "\"diode\":%s,\"trimsRa\":%s,\"litWhileLow\":%s,"
                "\"ratePerS\":%.17g,\"onMs\":%.17g}",
                diode ? "true" : "false",
                timer->trims_ra ? "true" : "false",
                timer->lit_while_low ? "true" : "false",
                timer->rate_hz.middle,
                timer->on_ms.middle);
}

void
tryout_lamp_add(JsonText* page, const Settings* settings, const VwLamp* lamp) {
  LampReport report = {.settings = settings, .lamp = *lamp};
  json_text_add(page, ",\"lampParts\":");
  if (lamp_find(&report)) {
    add_parts(page, &report.timer);
  } else {
    json_text_string(page, NULL);
  }
}
