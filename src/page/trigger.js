// A trigger on the screen, held by any number of fingers and keys at once.

// A press that a screen reader makes has no length of its own: chosen here.
const CLICK_MS = 250;

class Trigger {
  /**
   * @param button The element.
   * @param onChange Called with whether it is held, when that changes.
   */
  constructor(button, onChange) {
    Object.assign(this,
      {button, onChange, holders: new Set(), lastRealMs: -Infinity});
    this.listen(button);
    button.addEventListener("contextmenu", (event) => event.preventDefault());
    button.addEventListener("click", () => this.click());
    // Nobody holds anything in a page that is left.
    for (const name of ["blur", "visibilitychange"]) {
      addEventListener(name, () => this.change(() => this.holders.clear()));
    }
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

  change(act) {
    const isHeld = () => this.holders.size > 0;
    const before = isHeld();
    act();
    if (isHeld() !== before) {
      this.button.dataset.held = String(isHeld());
      this.onChange(isHeld());
    }
  }

  /** Listen to fingers and keys. */
  listen(button) {
    button.addEventListener("pointerdown", ({button: nth, pointerId}) => {
      if (nth === 0) {
        button.setPointerCapture?.(pointerId);
        this.hold(`pointer ${pointerId}`);
      }
    });
    for (const name of ["pointerup", "pointercancel", "lostpointercapture"]) {
      button.addEventListener(
        name, ({pointerId}) => this.letGo(`pointer ${pointerId}`));
    }
    button.addEventListener("keydown", (event) => {
      if (event.key === "Enter" || event.key === " " && !event.shiftKey) {
        event.preventDefault();
        event.stopPropagation();
        this.hold(event.key);
      }
    });
    document.addEventListener("keyup", ({key}) => this.letGo(key));
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
}
