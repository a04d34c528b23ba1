"""Plain answers to what people often see and worry about, for when nothing needs to be done.

Common practice in the trade; the words are this program's own. A city changes or adds to them (`PlainAnswer`); its wording
stands in place of the one here that has the same slug. None of them speaks for a tree that nobody has looked at: each says
what would make it a different matter.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass


@dataclass(frozen=True)
class Answer:
    slug: str
    title: str
    text: str
    used: bool = True
    own: bool = False


BROUGHT = (
    Answer(
        "leaf-galls",
        "Bumps and balls on leaves",
        "The bumps are galls: the leaf grows them around the young of a mite or a tiny wasp. They look odd and do the tree no "
        "harm worth speaking of, so nothing is done about them. Please tell us if whole branches lose their leaves.",
    ),
    Answer(
        "dropped-twigs",
        "Green twigs on the ground",
        "Squirrels bite off shoot tips to reach buds and seeds, and some trees shed small twigs of themselves in dry weather. "
        "Twigs as thin as a pencil are no sign of weakness. Please tell us if a limb thicker than a wrist has come down.",
    ),
    Answer(
        "lichen",
        "Grey, green or yellow crusts on the bark",
        "These are lichens. They sit on the bark and take nothing from the tree; they like light and clean air. They often show "
        "more on a tree with a thin crown, so if the crown looks bare too, please tell us.",
    ),
    Answer(
        "lawn-mushrooms",
        "Mushrooms in the grass",
        "Mushrooms in the lawn away from the stem mostly live on old roots and mulch and are part of a healthy soil. We leave "
        "them; please do not eat them. Mushrooms on the stem or tight around its foot are another matter: tell us about those.",
    ),
    Answer(
        "sticky-drops",
        "Sticky drops under a tree",
        "Aphids in the crown drink sap and drop the sugar that they cannot use. It washes off with water and ends with the "
        "season, and the tree does not suffer. We do not spray for it, because that would harm bees and what feeds on aphids.",
    ),
    Answer(
        "sap-drip",
        "Sap that runs from a cut or the bark",
        "Some trees bleed sap in spring, above all from fresh cuts. It stops when the leaves come and does not weaken the tree. "
        "If the flow is dark, smells, or goes on through summer, please tell us so that we look.",
    ),
    Answer(
        "needle-drop",
        "Yellow needles inside a conifer",
        "Conifers drop their oldest needles each autumn, from the inside of the crown. That is how they renew themselves. "
        "Yellow tips at the outside of the crown are another matter: tell us about those.",
    ),
    Answer(
        "peeling-bark",
        "Bark that peels off in plates",
        "Planes, birches and some maples shed their old bark as they grow, more after a wet spring. There is fresh bark beneath. "
        "If you see bare, dry wood instead, please tell us.",
    ),
    Answer(
        "autumn-early",
        "Leaves that fall in summer",
        "In long dry weather a tree lets go of part of its leaves to save water. Most trees come back into full leaf the next "
        "spring. If only one side or the top is bare, please tell us.",
    ),
    Answer(
        "shade-leaves-fruit",
        "Leaves, fruit, pollen or shade",
        "Leaves, fruit, pollen and shade come with a healthy tree, and we do not prune or fell for them alone. We clear the ways "
        "on our rounds. If a way has become slippery or blocked, tell us where and we come sooner.",
    ),
    Answer(
        "ivy",
        "Ivy on a stem",
        "Ivy uses the stem to climb and does not feed on the tree; birds and bees live on it. We leave it, and cut it back where "
        "it hides a stem that has to be inspected or makes a weak crown heavy.",
    ),
    Answer(
        "already-known",
        "We know about this tree",
        "Thank you: this tree has been looked at, and what it needs is planned. You do not have to report it again; if it has "
        "changed since you wrote, please do.",
    ),
)


def merged(own: dict[str, Answer]) -> Iterator[Answer]:
    """What the program brings in the city's wording where it has one, and then the city's own, by title."""
    yield from (own.get(answer.slug, answer) for answer in BROUGHT)
    brought = {answer.slug for answer in BROUGHT}
    yield from sorted((answer for slug, answer in own.items() if slug not in brought), key=lambda answer: answer.title)
