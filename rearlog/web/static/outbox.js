// What was tapped and is not yet known to be on the server's disk. It stays in this browser, through
// reloads and without a network, until the server has answered for it.

const KEPT = "rearlog/outbox/";
const REFUSED = "rearlog/refused/";
const AT_ONCE = 200;
export const AWAY = "there is no connection now. The look can go without.";
const WAITS = [1000, 3000, 8000, 15000];

// A name that no other look has: 128 random bits.
export function made() {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  return Array.from(bytes, (each) => each.toString(16).padStart(2, "0")).join("");
}

export class Outbox {
  // `present` tells the time by the shelf's clock; `asked` says which round the answers are to show.
  constructor(cohort, present, asked) {
    this.cohort = cohort;
    this.present = present;
    this.asked = asked;
    this.sending = false;
    this.named = Promise.resolve(); // what is tapped waits until the shelf knows who taps
    this.trouble = "";
    this.tries = 0;
    this.memory = {}; // where the browser keeps nothing
  }

  read(key) {
    try {
      return JSON.parse(localStorage.getItem(key + this.cohort)) || [];
    } catch (error) {
      return this.memory[key] || [];
    }
  }

  write(key, value) {
    this.memory[key] = value;
    try {
      localStorage.setItem(key + this.cohort, JSON.stringify(value));
    } catch (error) {
      this.trouble = "This browser keeps nothing: stay on this page until everything is written down.";
    }
  }

  waiting() {
    return this.read(KEPT);
  }

  refused() {
    return this.read(REFUSED);
  }

  put(look) {
    this.write(KEPT, [...this.waiting(), look]);
  }

  // Take back what was not sent; false where it may be on its way.
  drop(token) {
    if (this.sending) return false;
    this.write(KEPT, this.waiting().filter((each) => each.token !== token));
    return true;
  }

  again({ look }) {
    this.forget({ look });
    this.put({ ...look });
  }

  forget({ look }) {
    this.write(REFUSED, this.refused().filter((each) => each.look.token !== look.token));
  }

  done(sent) {
    const over = new Set(sent.map((each) => `${each.token}${each.undo ? "-" : ""}`));
    this.write(KEPT, this.waiting().filter((each) => !over.has(`${each.token}${each.undo ? "-" : ""}`)));
  }

  // Send what waits, in its order. `take` is given each answer's state of the round.
  async send(take, changed) {
    if (this.sending) return;
    this.sending = true;
    try {
      await this.named;
      for (let left = this.waiting(); left.length; left = this.waiting()) {
        const undo = left[0].undo;
        const first = left.findIndex((each) => each.undo);
        const batch = undo ? left.slice(0, 1) : left.slice(0, Math.min(AT_ONCE, first < 0 ? left.length : first));
        const answer = undo ? await this.post("looks/undo", batch[0]) : await this.post("looks", { sent: this.present(), looks: batch });
        if (!answer) return;
        this.done(batch);
        if (answer.problems) this.refuse(batch, () => answer.problems);
        else if (!undo) {
          const told = new Map(answer.answers.map((each) => [each.token, each.problems]));
          this.refuse(batch.filter((each) => (told.get(each.token) || []).length), (each) => told.get(each.token));
        }
        take(answer.state);
      }
    } finally {
      this.sending = false;
      changed();
    }
  }

  refuse(looks, why) {
    if (!looks.length) return;
    this.write(REFUSED, [...this.refused(), ...looks.map((look) => ({ look, problems: why(look) }))]);
  }

  // The answer to what is posted; null where nobody knows whether it arrived, so that it is kept.
  async post(part, body) {
    const answer = await this.reach(`/cohort/${this.cohort}/${part}?${this.asked}`, {
      method: "POST",
      headers: { "Content-Type": "application/json", Accept: "application/json" },
      body: JSON.stringify(body),
    });
    if (!answer) return null;
    const told = await answer.json().catch(() => null);
    if (answer.ok) return told;
    if (answer.status === 400 && told && told.problems) return told;
    this.stopped(answer.status, told);
    return null;
  }

  // A picture is sent by itself and only with a connection; the look then says what it is called.
  async keep(picture) {
    const answer = await this.reach(`/cohort/${this.cohort}/photo`, {
      method: "POST",
      headers: { "Content-Type": "application/octet-stream", Accept: "application/json" },
      body: picture,
    });
    if (!answer) return { problem: AWAY };
    const told = await answer.json().catch(() => null);
    if (answer.ok && told) return told;
    const why = told && told.problems ? told.problems.map((each) => `${each.message}${each.remedy ? ` (${each.remedy})` : ""}`).join("; ") : `the server answered ${answer.status}`;
    return { problem: why };
  }

  async ask(address) {
    const answer = await this.reach(address, { headers: { Accept: "application/json" } });
    if (!answer || answer.status === 204) return null;
    if (answer.ok) return answer.json();
    this.stopped(answer.status, await answer.json().catch(() => null));
    return null;
  }

  call(initials) {
    this.named = this.name(initials);
    return this.named;
  }

  async name(initials) {
    const body = new URLSearchParams({ initials });
    const answer = await this.reach("/initials", { method: "POST", headers: { Accept: "application/json" }, body });
    if (!answer) return "";
    const told = await answer.json().catch(() => null);
    return answer.ok ? "" : told ? told.problems.map((each) => each.message).join("; ") : "";
  }

  async reach(address, options) {
    try {
      const answer = await fetch(address, { ...options, redirect: "error" });
      this.tries = 0;
      if (answer.ok) this.trouble = "";
      return answer;
    } catch (error) {
      const waiting = this.waiting().length;
      this.trouble = waiting ? `No connection. ${waiting} kept on this device; it is sent when the connection is back.` : "No connection. Go on: what you tap is kept on this device.";
      this.tries = Math.min(this.tries + 1, WAITS.length - 1);
      return null;
    }
  }

  stopped(status, told) {
    const words = told && told.problems ? told.problems.map((each) => `${each.message}${each.remedy ? ` (${each.remedy})` : ""}`).join(" ") : `The server answered ${status}.`;
    this.trouble = status === 401 ? "Come in again with the code (Shelf, above): what you tapped is kept on this device." : words;
  }
}
