// From a form to a record: what every form of the tablet does when it is kept or given up.
//
//   recording({root, page, key, state, kind, tree?, record, done, back}) -> {faults, said, keep(), drop(), open(errors)}
//     key: of the draft; state: what the form holds, with its `title` and `route`; record() -> {payload, faults}
//     done(payload, id): the record is on the tablet; back: the address to go to when the form is given up
//     open(errors): the screen is drawn; goes to what the server said against it, or where one was

import * as drafts from "../drafts.js";
import * as outbox from "../outbox.js";
import { faultBox } from "./faults.js";
import { go } from "./go.js";
import { keeping, placeOf } from "./keeping.js";

export function recording({ root, page, key, state, kind, tree, record, done, back }) {
  const faults = faultBox(root);
  const store = keeping(root, key, state, page);
  let busy = false;

  async function add({ payload }) {
    try {
      await store.flush();
      const id = await outbox.add({ kind, payload, tree, title: state.title, route: state.route, draft: key });
      store.done();
      done(payload, id);
    } catch (error) {
      store.fail(error.message);
    }
  }
  async function keep() {
    const made = record();
    faults.show("Not kept yet", made.faults);
    if (made.faults.length || busy) return;
    busy = true;
    await add(made);
    busy = false;
  }
  async function drop() {
    store.done();
    await drafts.drop(key);
    go(back, { replace: true });
  }
  function open(errors) {
    page.land(errors.length ? faults.show("The server did not take it", errors) : placeOf(root, state.at));
  }
  return { faults: faults.element, said: store.said, keep, drop, open };
}
