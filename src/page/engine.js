// The program, as the page asks it: arguments and files in, its words and files
// out. It runs in a worker, one command after the other.

/** What the page holds packed: texts and bytes by their names. */
async function unpackStream(base64) {
  const packed = Uint8Array.fromBase64?.(base64) ??
    Uint8Array.from(atob(base64), (letter) => letter.charCodeAt(0));
  const stream = new Response(packed).body
    .pipeThrough(new DecompressionStream("gzip"));
  const bytes = new Uint8Array(await new Response(stream).arrayBuffer());
  const end = bytes.indexOf(10);
  const lengths = JSON.parse(new TextDecoder().decode(bytes.subarray(0, end)));
  const parts = {};
  let at = end + 1;
  for (const [name, length] of Object.entries(lengths)) {
    parts[name] = bytes.subarray(at, at + length);
    at += length;
  }
  return parts;
}

// A worker whose command took more bytes is ended, so that the browser has them
// back before the next command takes as many (chosen here).
const MEMORY_MOST = 2e8;

class Engine {
  constructor(parts) {
    this.script = URL.createObjectURL(
      new Blob([parts.worker], {type: "text/javascript"}));
    this.compiled = WebAssembly.compile(parts.program);
    this.inputs = new Map();
    this.waiting = [];
    this.running = null;
    this.n = 0;
    this.start();
  }

  start() {
    const worker = new Worker(this.script);
    this.worker = worker;
    this.ready = this.compiled.then((module) => {
      worker.postMessage({module});
      for (const [put, bytes] of this.inputs) {
        worker.postMessage({put, bytes});
      }
    });
    worker.onmessage = ({data}) => this.finish(data);
    worker.onerror = (event) => {
      event.preventDefault();
      this.restart(event.message);
    };
  }

  /** Keep a file for commands that take it by this path. */
  put(path, bytes) {
    this.inputs.set(path, bytes);
    this.ready.then(() => this.worker.postMessage({put: path, bytes}));
  }

  forget(path) {
    this.inputs.delete(path);
    this.worker.postMessage({forget: path});
  }

  /**
   * Run a command.
   *
   * @param args Its words, without the program's name.
   * @param paths The files that it takes, as they were put.
   * @param key A newer command of the same key takes the place of one that
   * still waits, which then gives null.
   * @param onLine Called with each line that it says on its way.
   * @return A promise of {status, out, err, files: [{path, bytes}]}; `ended` if
   * it came to no end of its own.
   */
  run(args, paths = [], key = null, onLine = null) {
    return new Promise((resolve) => {
      const job = {id: ++this.n, args, paths, key, onLine, resolve};
      const isOld = (one) => key && one.key === key;
      this.waiting.filter(isOld).forEach((one) => one.resolve(null));
      this.waiting = [...this.waiting.filter((one) => !isOld(one)), job];
      this.next();
    });
  }

  next() {
    if (!this.running && this.waiting.length) {
      this.running = this.waiting.shift();
      const {id, args, paths} = this.running;
      // One that was given up before may have taken this worker along.
      const {worker} = this;
      this.ready.then(() => worker.postMessage({id, args, paths}));
    }
  }

  finish({id, line, result, error}) {
    const job = this.running;
    if (job?.id !== id) {
      return;
    }
    if (line !== undefined) {
      job.onLine?.(line);
      return;
    }
    if (error) {
      this.restart(error);
      return;
    }
    this.running = null;
    if (result.memory > MEMORY_MOST) {
      this.worker.terminate();
      this.start();
    }
    job.resolve(result);
    this.next();
  }

  /** End the command that runs, and go on with a new worker. */
  restart(message) {
    const job = this.running;
    this.running = null;
    this.worker.terminate();
    this.start();
    job?.resolve({status: 1, out: "", files: [], ended: true,
      err: `The program ended with a fault (${message}): the recording may be ` +
        "too long for this browser."});
    this.next();
  }

  /** Give up what runs and what waits. */
  cancel() {
    this.waiting.forEach((job) => job.resolve(null));
    this.waiting = [];
    if (this.running) {
      this.running.resolve(null);
      this.running = null;
      this.worker.terminate();
      this.start();
    }
  }
}

/** Why a command failed, or null. */
function faultOf(result) {
  const said = objectsOf(result)[0]?.error?.message;
  return said ?? (result.out ? null : complaintOf(result));
}

/** The objects that a command printed as JSON, one a line. */
function objectsOf(result) {
  return result.out.split("\n").filter((line) => line.startsWith("{"))
    .map((line) => JSON.parse(line));
}

/** What a command says that failed without an object, as one sentence. */
function complaintOf(result) {
  return result.err.replace(/^volleyweave: /, "").replaceAll(/\s+/g, " ");
}

/** What a command wrote to a path, or null. */
function bytesAt(result, path) {
  return result.files.find((file) => file.path === path)?.bytes ?? null;
}
