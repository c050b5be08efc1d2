// The few system calls a measuring program makes, for a page: a clock, files to read, text to print.
// Numbers and structures: WASI snapshot preview 1 (https://github.com/WebAssembly/WASI/blob/main/legacy/preview1/docs.md).

const OK = 0;
const BAD_FILE = 8;
const NO_ENTRY = 44;

const KIND_FOLDER = 3;
const KIND_FILE = 4;

/** Name of the file that a program which is asked questions answers into. */
export const ANSWERS = 'answers';

// Standard streams are 0 to 2; the one folder there is comes next and stands for the whole disk.
const FOLDER = 3;

/**
 * Runs a program with its files (name → bytes, looked up without their folders) and returns what it printed.
 *
 * A program that is asked questions gets them from `ask` (a promise of bytes; none ends it) and answers into the one
 * file it creates: `answer` is called with the program's own memory, which is only lent.
 */
export async function run(bytes, args, files, { ask, answer } = {}) {
  const open = new Map();
  const printed = [];
  let memory;
  const view = () => new DataView(memory.buffer);
  const text = (at, length) => new TextDecoder().decode(new Uint8Array(memory.buffer, at, length).slice());
  const encoded = args.map(arg => new TextEncoder().encode(arg + '\0'));

  /** Calls `act` with each of the program's buffers until one is not filled or emptied; returns the sum. */
  const each = (list, count, act) => {
    let sum = 0;
    for (let i = 0; i < count; i += 1) {
      const length = view().getUint32(list + 8 * i + 4, true);
      const done = act(new Uint8Array(memory.buffer, view().getUint32(list + 8 * i, true), length));
      sum += done;
      if (done < length) break;
    }
    return sum;
  };

  const calls = {
    args_sizes_get(count, size) {
      view().setUint32(count, encoded.length, true);
      view().setUint32(size, encoded.reduce((sum, arg) => sum + arg.length, 0), true);
      return OK;
    },
    args_get(list, at) {
      encoded.forEach((arg, i) => {
        view().setUint32(list + 4 * i, at, true);
        new Uint8Array(memory.buffer, at, arg.length).set(arg);
        at += arg.length;
      });
      return OK;
    },
    environ_sizes_get(count, size) {
      view().setUint32(count, 0, true);
      view().setUint32(size, 0, true);
      return OK;
    },
    environ_get: () => OK,
    clock_time_get(_clock, _precision, at) {
      view().setBigUint64(at, BigInt(Math.round(performance.now() * 1e6)), true);
      return OK;
    },
    random_get(at, length) {
      crypto.getRandomValues(new Uint8Array(memory.buffer, at, length));
      return OK;
    },
    fd_prestat_get(file, at) {
      if (file !== FOLDER) return BAD_FILE;
      view().setUint32(at, 0, true);
      view().setUint32(at + 4, 1, true);
      return OK;
    },
    fd_prestat_dir_name(_file, at) {
      view().setUint8(at, '/'.charCodeAt(0));
      return OK;
    },
    path_open(_folder, _follow, path, length, _how, _rights, _inherited, _flags, at) {
      const name = text(path, length).split('/').pop();
      const content = files.get(name);
      if (!content && !(answer && name === ANSWERS)) return NO_ENTRY;
      const file = FOLDER + 1 + open.size;
      open.set(file, { content, place: 0 });
      view().setUint32(at, file, true);
      return OK;
    },
    fd_fdstat_get(file, at) {
      if (file > FOLDER && !open.has(file)) return BAD_FILE;
      new Uint8Array(memory.buffer, at, 24).fill(0);
      view().setUint8(at, file === FOLDER ? KIND_FOLDER : KIND_FILE);
      // Everything is allowed, for itself and for what is opened in it.
      view().setBigUint64(at + 8, 0xffffffffffffffffn, true);
      view().setBigUint64(at + 16, 0xffffffffffffffffn, true);
      return OK;
    },
    fd_filestat_get(file, at) {
      if (!open.has(file)) return BAD_FILE;
      new Uint8Array(memory.buffer, at, 64).fill(0);
      view().setBigUint64(at + 32, BigInt(open.get(file).content.length), true);
      return OK;
    },
    fd_read(file, list, count, at) {
      const reading = open.get(file);
      if (!reading) return BAD_FILE;
      const sum = each(list, count, buffer => {
        const part = reading.content.subarray(reading.place, reading.place + buffer.length);
        buffer.set(part);
        reading.place += part.length;
        return part.length;
      });
      view().setUint32(at, sum, true);
      return OK;
    },
    fd_write(file, list, count, at) {
      const answers = open.has(file) && !open.get(file).content;
      const sum = each(list, count, buffer => {
        if (answers) answer(buffer);
        else printed.push(new TextDecoder().decode(buffer.slice()));
        return buffer.length;
      });
      view().setUint32(at, sum, true);
      return OK;
    },
    fd_seek(file, offset, from, at) {
      const reading = open.get(file);
      if (!reading) return BAD_FILE;
      const start = [0, reading.place, reading.content.length][from];
      reading.place = start + Number(offset);
      view().setBigUint64(at, BigInt(reading.place), true);
      return OK;
    },
    fd_close: () => OK,
    proc_exit(code) {
      throw new Error(`the program ended with ${code}: ${printed.join('')}`);
    },
  };
  if (ask) {
    const readFile = calls.fd_read;
    // The program's stack is put aside while a question is waited for (JavaScript Promise Integration).
    calls.fd_read = new WebAssembly.Suspending(async (file, list, count, at) => {
      if (file !== 0) return readFile(file, list, count, at);
      const question = await ask();
      const sum = each(list, 1, buffer => {
        if (question.length > buffer.length) throw new Error('a question longer than the program reads');
        buffer.set(question);
        return question.length;
      });
      view().setUint32(at, sum, true);
      return OK;
    });
  }
  const unknown = name => () => { throw new Error(`there is no system call ${name} here`); };
  const wasi = new Proxy(calls, { get: (known, name) => known[name] ?? unknown(name) });
  const { instance } = await WebAssembly.instantiate(bytes, { wasi_snapshot_preview1: wasi });
  memory = instance.exports.memory;
  try {
    if (ask) await WebAssembly.promising(instance.exports._start)();
    else instance.exports._start();
  } catch (error) {
    throw new Error(`${error}: ${printed.join('')}`);
  }
  return printed.join('');
}
