"""The job briefing as a crew lead goes through it on the tablet."""

from playwright.sync_api import Page, expect

from tests.removals.builders import CARD, CREW

LABELS = {
    "phone": "Phone that works here",
    "address": "Address to give",
    "position": "Coordinates to give",
    "access": "Way in",
    "hospital": "Nearest hospital",
    "kit": "First-aid and bleeding-control kit",
    "trained": "Who is trained to use it",
}


def go_through(page: Page, gust: str = "1 m/s") -> None:
    """Everything that the page asks for, and keep it."""
    for box in page.get_by_role("main").get_by_role("checkbox").all():
        box.check()
    page.get_by_label("Gust measured, held at 2 m").fill(gust)
    for key, label in LABELS.items():
        page.get_by_role("textbox", name=label).fill(CARD[key])
    page.get_by_role("button", name="Keep the briefing, then sign").click()


def sign_in_turn(page: Page) -> None:
    """One person after the other: with their own button when the order names the crew, else with name and role."""
    for name, role in CREW:
        own = page.get_by_role("button", name=f"I am {name}, {role}")
        if own.count():
            own.click()
        else:
            page.get_by_role("textbox", name="Name").fill(name)
            page.get_by_role("combobox", name="Role").select_option(role)
            page.get_by_role("button", name="Sign", exact=True).click()
        expect(page.get_by_role("rowheader", name=name)).to_be_visible()
