// A trigger on the screen, held by any number of fingers and keys at once.

// A press that a screen reader makes has no length of its own: chosen here.
const CLICK_MS = 250;

class Trigger {
  /**
   * @param button The element.
   * @param onChange Called with whether it is held, when that changes.
   */
  constructor(button, onChange) {
    this.button = button;
    this.onChange = onChange;
    this.holders = new Set();
    this.lastRealMs = -Infinity;
    this.listenToPointers();
    this.listenToKeys();
    button.addEventListener("contextmenu", (event) => event.preventDefault());
    button.addEventListener("click", () => this.click());
  }

  get held() {
    return this.holders.size > 0;
  }

  hold(holder) {
    this.lastRealMs = performance.now();
    this.change(() => this.holders.add(holder));
  }

  letGo(holder) {
    if (this.holders.has(holder)) {
      this.lastRealMs = performance.now();
      this.change(() => this.holders.delete(holder));
    }
  }

  /** Let go, whoever holds it. */
  drop() {
    this.change(() => this.holders.clear());
  }

  change(act) {
    const before = this.held;
    act();
    if (this.held !== before) {
      this.button.dataset.held = String(this.held);
      this.onChange(this.held);
    }
  }

  listenToPointers() {
    const {button} = this;
    button.addEventListener("pointerdown", (event) => {
      if (event.button === 0) {
        button.setPointerCapture?.(event.pointerId);
        this.hold(`pointer ${event.pointerId}`);
      }
    });
    for (const name of ["pointerup", "pointercancel", "lostpointercapture"]) {
      button.addEventListener(
        name, (event) => this.letGo(`pointer ${event.pointerId}`));
    }
  }

  listenToKeys() {
    const {button} = this;
    button.addEventListener("keydown", (event) => {
      if (event.key === "Enter") {
        event.preventDefault();
        this.hold("Enter");
      }
    });
    button.addEventListener("keyup", ({key}) => this.letGo(key));
    button.addEventListener("blur", () => this.letGo("Enter"));
    window.addEventListener("blur", () => this.letGo(" "));
  }

  /** A click that no finger and no key made. */
  click() {
    if (performance.now() - this.lastRealMs < 2 * CLICK_MS) {
      return;
    }
    this.hold("click");
    setTimeout(() => this.letGo("click"), CLICK_MS);
  }
}

/** Let the space bar hold a trigger, with Shift another, wherever it has no use
 * of its own. */
function holdBySpace(trigger, shifted) {
  document.addEventListener("keydown", (event) => {
    const {key, target, shiftKey, repeat} = event;
    if (key !== " " || !byId("deck").checkVisibility() || target.matches(
      "summary, select, button:not(.trigger), input:not([type=range])")) {
      return;
    }
    event.preventDefault();
    const isShifted = shiftKey || target === shifted.button;
    if (!repeat) {
      (isShifted ? shifted : trigger).hold(" ");
    }
  });
  document.addEventListener("keyup", ({key}) =>
    [trigger, shifted].forEach((one) => one.letGo(key)));
}
