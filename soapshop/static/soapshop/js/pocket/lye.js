// The lye: the cautions stand in the page, the phone puts in what was weighed.

import { weighed } from "./board.js";
import { part } from "./parts.js";
import { weight } from "./words.js";
import { card } from "./weigh.js";

export function lye(board, asked, act) {
  const amounts = (kinds, between) =>
    board.lines
      .filter((line) => kinds.includes(line.kind) && line.before_the_lye)
      .map((line) => part("amount", { weight: weight(weighed(line), board.pack), material: line.material }))
      .flatMap((amount, index) => (index ? [between, amount] : [amount]));
  const liquids = amounts(["liquid", "additive"], ", ");
  const body = part("lye", { liquids, alkalis: amounts(["alkali"], " and ") });
  if (board.lyeMixedAt) return { title: "The lye is mixed", body: [body], actions: [part("go-on")] };
  const actions = part("lye-actions", { mixed: () => act.deed("lye", {}) });
  return { title: "Mix the lye", body: [body, card(board)], actions: [actions] };
}
