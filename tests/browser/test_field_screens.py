"""The screens of the tablet page: a tree found, looked at, added, without signal and with gloves on."""

import itertools
import re

import pytest
from playwright.sync_api import Locator, Page, expect

from config.settings import BASE_DIR
from hazards.impact import Direction, Fall, suggest
from hazards.matrix import Consequences, Exposure, Failure, FailureAndImpact, Impact, Occupancy, Rating, rate
from tests.browser.chromium import TABLET
from tests.browser.field_park import HERE, ParkServer, pack, tree
from tests.browser.tablet import Tablet

# The ratings' own words name their shades; every other word of the tables is the server's.
RULE_WORDS = [level.value for levels in (Failure, Impact, FailureAndImpact, Consequences, Exposure) for level in levels
              if level.value not in {rating.value for rating in Rating}]  # fmt: skip
LYING = {"width": 1180, "height": 820}
LEAST_TARGET_PX = 48


@pytest.fixture
def server() -> ParkServer:
    return ParkServer()


@pytest.fixture
def opened(open_page, server):
    """``opened(viewport=…)``: a tablet with the park on it, at the list of its trees."""

    def tablet(**options: object) -> Page:
        page = open_page(**{"viewport": TABLET, "has_touch": True, **options})
        server.attend(page.context)
        page.goto("/field/")
        known = Tablet(page)
        known.send()
        known.call("tables", "refresh")
        known.call("packs", "take", "LG")
        at(page, "/find", "Find a tree")
        return page

    return tablet


@pytest.fixture
def page(opened) -> Page:
    return opened()


def at(page: Page, path: str, heading: str) -> Page:
    page.goto(f"/field/#{path}")
    expect(page.get_by_role("heading", name=heading, level=1)).to_be_focused()
    return page


def inspecting(page: Page, number: int = 1) -> Page:
    return at(page, f"/inspect/{number}", f"Inspect LG-{number}")


def choose(root: Page | Locator, group: str, option: str) -> None:
    root.get_by_role("group", name=group).get_by_role("radio", name=re.compile(f"^{option}")).check()


def assess(page: Page, **changed: str) -> Locator:
    """An assessment with everything picked."""
    page.get_by_role("button", name=re.compile("^Add (what could fail|another)")).click()
    card = page.get_by_role("region", name="Assessment").last
    picks = {
        "What could fail": "Union",
        "Likelihood of failure": "Probable",
        "What it would hit": "Mill Road",
        "How exposed it is": "Fully exposed",
        "Consequences": "Severe",
    }
    for group, option in (picks | changed).items():
        choose(card, group, option)
    card.get_by_label("How it would fail").fill("splitting at the included bark")
    return card


def keep(page: Page) -> None:
    page.get_by_role("button", name="Keep it").click()


def lines(page: Page) -> Locator:
    return page.locator(".tree-line__tag")


# ---- Finding the tree ------------------------------------------------------------------------------------------------


def test_typing_narrows_the_list_and_the_return_key_opens_the_first(page) -> None:
    field = page.get_by_label("Tag or species")
    field.fill("lg-1")
    expect(lines(page)).to_have_text(["LG-1", "LG-12"])
    field.press("Enter")
    expect(page.get_by_role("heading", name="LG-1", level=1, exact=True)).to_be_focused()


def test_a_species_finds_its_trees(page) -> None:
    page.get_by_label("Tag or species").fill("linden")
    expect(lines(page)).to_have_text(["LG-12"])


def test_a_tap_asks_for_the_position_and_puts_the_nearest_first(opened) -> None:
    page = opened(geolocation=HERE | {"latitude": 47.2012}, permissions=["geolocation"])
    expect(lines(page).first).to_have_text("LG-1")
    page.get_by_role("button", name="Nearest first").click()
    expect(lines(page)).to_have_text(["LG-12", "LG-3", "LG-2", "LG-1"])
    expect(page.get_by_text("Position within 6 m")).to_be_visible()
    expect(page.locator(".tree-line").nth(1)).to_contain_text("100 m S")


def test_a_position_that_is_denied_names_the_other_ways(page) -> None:
    page.get_by_role("button", name="Nearest first").click()
    expect(page.get_by_text("by its tag, on the map, or under")).to_be_visible()
    expect(lines(page)).to_have_count(4)


def test_five_thousand_trees_show_forty_at_a_time(opened, server) -> None:
    server.packs["LG"] = pack(tuple(tree(number) for number in range(1, 5001)))
    page = opened()
    expect(lines(page)).to_have_count(40)
    page.get_by_role("button", name="Show 40 more of 4960").click()
    expect(lines(page)).to_have_count(80)
    expect(page.get_by_role("link", name=re.compile("^LG-41 "))).to_be_focused()


def test_due_lists_the_overdue_before_today(page) -> None:
    at(page, "/due", "Looks that are due")
    expect(page.get_by_role("heading", level=2)).to_have_text(
        ["Overdue (1)", "Due today (1)", "Due within 30 days (1)"]
    )
    expect(lines(page)).to_have_text(["LG-1", "LG-2", "LG-3"])


def test_a_round_of_the_office_lists_up_to_its_last_day(page) -> None:
    at(page, "/due?park=LG&until=2000-01-01", "Looks that are due")
    expect(page.get_by_role("heading", level=2)).to_have_text(["Overdue (1)", "Due today (1)"])


def test_a_round_in_a_park_that_is_not_on_the_tablet_leads_to_the_packs(page) -> None:
    page.goto("/field/#/due?park=ELSEWHERE")
    expect(page).to_have_url(re.compile("#/packs$"))


def test_the_map_is_moved_by_keys_and_its_list_follows(page) -> None:
    at(page, "/map", "Map")
    expect(lines(page)).to_have_count(4)
    canvas = page.get_by_role("application")
    canvas.focus()
    for _ in range(16):
        canvas.press("ArrowUp")
    expect(page.get_by_text("No tree in sight here")).to_be_visible()
    page.get_by_role("button", name="All").click()
    expect(lines(page)).to_have_count(4)


def test_a_tap_on_the_map_names_the_tree(page) -> None:
    at(page, "/map?tree=2", "Map")
    canvas = page.get_by_role("application")
    box = canvas.bounding_box()
    expect(page.locator("[aria-live] .tree-line__tag")).to_have_text(["LG-2"])
    # 8 px a metre, and LG-3 stands 11.1 m north of LG-2.
    canvas.tap(position={"x": box["width"] / 2, "y": box["height"] / 2 - 89})
    expect(page.locator("[aria-live] .tree-line__tag")).to_have_text(["LG-3"])


# Chromium here reads no codes and has no camera: the tests give it both.
READER = """
  window.BarcodeDetector = class {
    static getSupportedFormats() { return Promise.resolve(["qr_code"]); }
    detect(picture) { return Promise.resolve(picture.videoWidth ? [{ rawValue: "%s" }] : []); }
  };
  navigator.mediaDevices.getUserMedia = async () => {
    const canvas = Object.assign(document.createElement("canvas"), { width: 64, height: 48 });
    canvas.getContext("2d").fillRect(0, 0, 64, 48);
    setInterval(() => canvas.getContext("2d").fillRect(0, 0, 64, 48), 40);
    return (window.camera = canvas.captureStream(25));
  };
"""


@pytest.fixture
def scanning(opened):
    def started(code: str) -> Page:
        page = opened()
        page.add_init_script(READER % code)
        page.reload()
        page.get_by_role("button", name="Scan the tag").click()
        return page

    return started


def test_the_code_of_a_tag_leads_to_its_tree_and_the_camera_goes_off(scanning) -> None:
    page = scanning("https://trees.alderquay.example/trees/LG-12/")
    expect(page.get_by_role("heading", name="LG-12", level=1)).to_be_focused()
    assert page.evaluate("window.camera.getTracks().map((track) => track.readyState)") == ["ended"]


def test_a_code_of_another_park_is_said(scanning) -> None:
    expect(scanning("XX-9").get_by_text("No tree of this park has the tag XX-9.")).to_be_visible()


def test_where_no_code_can_be_read_the_tag_is_typed(page) -> None:
    expect(page.get_by_text("This browser cannot read the code on a tag; type the tag instead.")).to_be_visible()
    expect(page.get_by_role("button", name="Scan the tag")).to_have_count(0)


def test_the_code_of_a_label_names_its_tree(page) -> None:
    codes = {
        "http://trees.alderquay.example/trees/LG-12/": "LG-12",
        "http://trees.alderquay.example/trees/ALB/12/": "ALB/12",
        "http://trees.alderquay.example/trees/A%2012/": "A 12",
        "LG-12": "LG-12",
    }
    assert {code: Tablet(page).call("parts/scan", "tagIn", code) for code in codes} == codes


def test_the_page_of_a_tree_says_how_it_is_rated_and_what_is_open(page) -> None:
    at(page, "/tree/1", "LG-1")
    page.get_by_text("How it came about").click()
    expect(page.get_by_role("list").filter(has_text="Likelihood of failure")).to_contain_text("Probable")
    expect(page.get_by_text("A limb hangs over the path.")).to_be_visible()
    expect(page.get_by_text("overdue since")).to_be_visible()


# ---- The rating ------------------------------------------------------------------------------------------------------

PICKS = list(itertools.product(Failure, Impact, Consequences))


ALL_OF = """async ([path, name, tables, given]) => {
  const call = (await import(path))[name];
  return given.map((each) => call(tables, each));
}"""


def of_all(page: Page, name: str, given: list[dict[str, object]]) -> list[dict[str, object]]:
    """What a function of the page's rating module says to each of the given."""
    tables = Tablet(page).call("tables", "get")
    return page.evaluate(ALL_OF, ["/static/field/parts/rate.js", name, tables, given])


def test_the_page_rates_as_the_server_does_for_all_picks(page) -> None:
    assert len(PICKS) == 64
    given = [{"failure": f.value, "impact": i.value, "consequences": c.value} for f, i, c in PICKS]
    rated = [rate(*picks) for picks in PICKS]
    expected = [{"likelihood": each.failure_and_impact.value, "rating": each.rating.value} for each in rated]
    assert of_all(page, "lookUp", given) == expected


def test_the_form_shows_what_the_server_would_rate_for_all_picks(page) -> None:
    inspecting(page)
    card = assess(page)
    shown = card.locator(".outcome__rating"), card.locator(".outcome__cells")
    for failure, impact, consequences in PICKS:
        choose(card, "Likelihood of failure", failure.value.capitalize())
        choose(card, "Likelihood of impact", impact.value.capitalize())
        choose(card, "Consequences", consequences.value.capitalize())
        rated = rate(failure, impact, consequences)
        likelihood, rating = rated.failure_and_impact.value, rated.rating.value
        expect(shown[0]).to_have_text(rating.capitalize())
        expect(shown[1]).to_have_text(
            f"{failure.value} × {impact.value} → {likelihood}; {likelihood} × {consequences.value} → {rating}"
        )


def test_the_page_suggests_as_the_server_does_for_all_there_is(page) -> None:
    given, expected = [], []
    for occupancy, exposure, direction in itertools.product(Occupancy, Exposure, [None, *Direction]):
        for scatters, distance_m in itertools.product([False, True], [None, 12.0, 14.0, 20.0]):
            said = suggest(Fall(occupancy, exposure, distance_m, 12.0, scatters, direction))
            words = {"occupancy": occupancy.value, "exposure": exposure.value, "scatters": scatters}
            given.append(words | {"direction": direction.value if direction else "", "beyond": False, "height_m": 12.0})
            given[-1]["distance_m"] = distance_m
            expected.append((said.impact.value, [impact.value for impact in Impact if said.explains(impact)]))
    for fall, beyond in zip(given, of_all(page, "beyondReach", given), strict=True):
        fall["beyond"] = beyond
    said = of_all(page, "suggestion", given)
    assert [(each["impact"], each["unexplained"]) for each in said] == expected


RULES = (
    *(word for word in RULE_WORDS if " " in word),
    *(f'"{word}"' for word in RULE_WORDS if " " not in word),
)


def test_no_module_of_the_page_holds_a_word_of_the_tables() -> None:
    for module in (BASE_DIR / "config" / "static" / "field").rglob("*.js"):
        text = re.sub(r'class: "[^"]*"', "", module.read_text())
        assert [word for word in RULES if word in text] == [], module.name


# ---- Looking at a tree -----------------------------------------------------------------------------------------------


def test_a_look_is_kept_without_signal_and_sent_later(page, server) -> None:
    inspecting(page)
    server.set_signal(False)
    page.get_by_label("Girdling roots").check()
    page.get_by_label("Girdling roots: of the circumference").fill("30")
    choose(page, "Condition", "Fair")
    assess(page)
    keep(page)
    expect(page.get_by_text("Kept on this tablet; it will be sent when there is signal.")).to_be_visible()
    assert server.records == {}
    server.set_signal(True)
    Tablet(page).send()
    (record,) = server.records.values()
    payload = record["payload"]
    assert record["kind"] == "inspection"
    assert (payload["tree"], payload["condition"], payload["level"]) == (1, "fair", 2)
    assert payload["defects"] == [{"part": "roots", "kind": "girdling roots", "value": 30, "unit": "%", "note": ""}]
    (assessment,) = payload["assessments"]
    picked = {"part": "union", "failure": "probable", "target": 8, "exposure": "fully exposed", "impact": "high"}
    assert picked.items() <= assessment.items()


def test_photos_go_with_the_look(page, server, camera) -> None:
    inspecting(page)
    server.set_signal(False)
    picture = {"name": "camera.jpg", "mimeType": "image/jpeg", "buffer": camera(1200, 900)}
    page.get_by_label("Take a photo").set_input_files(picture)
    page.get_by_label("What photo 1 shows").fill("the union")
    expect(page.get_by_text("Stored on this tablet.")).to_be_visible()
    choose(page, "Condition", "Good")
    keep(page)
    expect(page.get_by_text("Kept on this tablet")).to_be_visible()
    server.set_signal(True)
    Tablet(page).send()
    assert len(server.records) == len(server.photos) == 1


def test_what_is_missing_is_said_at_its_field_and_nothing_is_kept(page, server) -> None:
    inspecting(page)
    keep(page)
    summary = page.locator(".error-summary")
    expect(summary).to_contain_text("Pick the condition of the tree.")
    summary.get_by_role("button").click()
    expect(page.get_by_role("group", name="Condition").get_by_role("radio").first).to_be_focused()
    assert Tablet(page).call("outbox", "list") == []


def test_another_likelihood_than_the_suggested_asks_why(page) -> None:
    inspecting(page)
    choose(page, "Condition", "Good")
    card = assess(page)
    expect(card.get_by_role("group", name="Likelihood of impact").get_by_label("High")).to_be_checked()
    choose(card, "Likelihood of impact", "Low")
    keep(page)
    expect(page.locator(".error-summary")).to_contain_text("The suggestion is high; say why it does not hold here.")
    card.get_by_label("Why not as suggested").fill("a steep bank")
    keep(page)
    expect(page.get_by_text("Kept on this tablet")).to_be_visible()


def test_a_far_target_lowers_the_suggestion_and_says_whose_rule_it_is(page) -> None:
    inspecting(page)
    card = assess(page)
    impact = card.get_by_role("group", name="Likelihood of impact")
    expect(impact.get_by_label("High")).to_be_checked()
    card.get_by_role("textbox", name="Distance to it").fill("40")
    expect(impact.get_by_label("Very low")).to_be_checked()
    expect(impact).to_contain_text("beyond the reach of the fall: very low (this program's own)")


def test_ways_to_mend_it_show_the_rating_they_leave(page, server) -> None:
    inspecting(page)
    choose(page, "Condition", "Good")
    card = assess(page)
    card.get_by_label("Prune").check()
    prune = card.get_by_role("region", name="Prune")
    prune.get_by_label("Failure after that").select_option("Improbable")
    expect(prune.locator(".rating")).to_have_text("Low")
    expect(prune.get_by_label("Failure after that").locator("option")).to_have_text(
        ["As now", "Improbable", "Possible", "Probable"]
    )
    card.get_by_label("Monitor").check()
    card.get_by_role("region", name="Monitor").get_by_label("Rating after that").select_option("High")
    keep(page)
    expect(page.locator(".error-summary")).to_contain_text("Say which of the ways to mend it is advised.")
    choose(card, "Which one is advised", "Prune")
    keep(page)
    expect(page.get_by_text("Kept on this tablet")).to_be_visible()
    Tablet(page).send()
    (record,) = server.records.values()
    prune, monitor = record["payload"]["assessments"][0]["options"]
    assert (prune["mitigation"], prune["failure"], prune["chosen"]) == ("prune", "improbable", True)
    assert (monitor["mitigation"], monitor["residual_rating"], monitor["chosen"]) == ("monitor", "high", False)


def test_an_imminent_failure_calls_for_keeping_people_out(page) -> None:
    inspecting(page)
    card = assess(page, **{"Likelihood of failure": "Imminent"})
    expect(card.get_by_text("keep people out before anything else")).to_be_visible()


def test_a_form_that_was_closed_in_the_middle_opens_where_it_was(page) -> None:
    inspecting(page)
    page.get_by_label("Lean", exact=True).check()
    page.get_by_label("Lean: from upright").fill("12")
    card = assess(page)
    card.get_by_label("How it would fail").fill("breaking at the cavity")
    expect(page.get_by_text(re.compile("Stored on this tablet at"))).to_be_visible()
    context = page.context
    page.close()
    page = context.new_page()
    page.goto("/field/#/inspect/1")
    card = page.get_by_role("region", name="Assessment")
    expect(card.get_by_label("How it would fail")).to_be_focused()
    expect(card.get_by_label("How it would fail")).to_have_value("breaking at the cavity")
    expect(card.locator(".outcome__rating")).to_have_text("High")
    expect(page.get_by_label("Lean: from upright")).to_have_value("12")


def test_a_form_begun_is_offered_from_the_list(page) -> None:
    inspecting(page)
    choose(page, "Condition", "Poor")
    expect(page.get_by_text(re.compile("Stored on this tablet at"))).to_be_visible()
    at(page, "/find", "Find a tree")
    page.get_by_role("link", name="Go on: LG-1, inspection").click()
    expect(page.get_by_role("group", name="Condition").get_by_label("Poor")).to_be_checked()


def test_a_form_that_nobody_touched_leaves_nothing(page) -> None:
    inspecting(page)
    at(page, "/find", "Find a tree")
    expect(page.get_by_role("link", name="Go on:")).to_have_count(0)


def test_a_reader_of_us_units_types_inches_and_feet(opened, server) -> None:
    server.user["units"] = "us"
    page = opened()
    inspecting(page)
    expect(page.get_by_text("On record: 15.7 in")).to_be_visible()
    page.get_by_role("textbox", name="Diameter at breast height").fill("14")
    page.get_by_role("textbox", name=re.compile("^Height")).fill("12 m")
    page.get_by_label("Dead limbs", exact=True).check()
    page.get_by_role("textbox", name="Dead limbs: thickest").fill("4")
    choose(page, "Condition", "Good")
    keep(page)
    expect(page.get_by_text("Kept on this tablet")).to_be_visible()
    Tablet(page).send()
    (record,) = server.records.values()
    assert record["payload"]["dbh_cm"] == pytest.approx(35.56)
    assert record["payload"]["height_m"] == 12
    assert record["payload"]["defects"][0]["value"] == pytest.approx(10.16)


def test_a_figure_out_of_the_servers_bounds_is_refused_in_the_readers_unit(page) -> None:
    inspecting(page)
    choose(page, "Condition", "Good")
    page.get_by_role("textbox", name="Diameter at breast height").fill("900")
    keep(page)
    expect(page.locator(".error-summary")).to_contain_text("900 is out of range; give 0.1 cm to 500 cm.")


def test_a_refused_look_is_mended_in_the_form_that_made_it(page, server) -> None:
    message = "The crown dieback is 100 % and the condition good; look again."
    server.judge = lambda record: {"status": "refused", "errors": [{"field": "condition", "message": message}]}
    inspecting(page)
    choose(page, "Condition", "Good")
    keep(page)
    expect(page.get_by_text("Kept on this tablet")).to_be_visible()
    Tablet(page).send()
    at(page, "/outbox", "Outbox").get_by_role("button", name="Mend").click()
    expect(page.locator(".error-summary")).to_contain_text(message)
    expect(page.locator(".error-summary")).to_be_focused()
    expect(page.get_by_role("group", name="Condition")).to_contain_text(message)
    server.judge = None
    choose(page, "Condition", "Poor")
    keep(page)
    expect(page.get_by_text("Kept on this tablet")).to_be_visible()
    Tablet(page).send()
    assert [record["payload"]["condition"] for record in server.records.values()] == ["poor"]
    assert set(Tablet(page).states().values()) == {"sent"}


def test_a_look_that_was_sent_is_corrected_by_another(page, server) -> None:
    inspecting(page)
    page.get_by_label("Girdling roots").check()
    choose(page, "Condition", "Fair")
    assess(page)
    keep(page)
    expect(page.get_by_text("Kept on this tablet")).to_be_visible()
    Tablet(page).send()
    (first,) = server.records
    at(page, "/tree/1", "LG-1").get_by_role("link", name="Correct it").click()
    expect(page.get_by_role("heading", name="Correct the inspection of LG-1")).to_be_focused()
    expect(page.get_by_label("Girdling roots").first).to_be_checked()
    choose(page, "Condition", "Poor")
    keep(page)
    expect(page.get_by_text("Kept on this tablet")).to_be_visible()
    Tablet(page).send()
    second = list(server.records.values())[1]["payload"]
    assert (second["supersedes"], second["condition"]) == (first, "poor")
    assert len(second["assessments"]) == len(second["defects"]) == 1


def test_a_target_met_on_the_walk_can_be_hit_at_once(page, server) -> None:
    inspecting(page)
    page.get_by_text("A target that is not listed").click()
    page.get_by_label("Name").fill("East bench")
    choose(page, "Kind", "Seating")
    choose(page, "How often people", "Occasional")
    page.get_by_role("button", name="Add the target").click()
    expect(page.get_by_text("East bench can now be chosen")).to_be_visible()
    choose(page, "Condition", "Good")
    assess(page, **{"What it would hit": "East bench"})
    keep(page)
    expect(page.get_by_text("Kept on this tablet")).to_be_visible()
    Tablet(page).send()
    target, look = server.records.values()
    assert target["kind"] == "target"
    assert look["payload"]["assessments"][0]["target"] == target["id"]


# ---- A tree that is not in the pack ----------------------------------------------------------------------------------


def test_a_new_tree_is_put_on_the_map_and_inspected_at_once(page, server) -> None:
    server.set_signal(False)
    page.get_by_role("link", name="A tree that is not here yet").click()
    page.get_by_role("button", name="It stands at the cross").click()
    page.get_by_label("Species").fill("quercus")
    page.get_by_role("button", name="English oak, Quercus robur").click()
    page.get_by_role("textbox", name="Diameter at breast height").fill("25")
    page.get_by_role("button", name="Keep it and inspect it").click()
    expect(page.get_by_role("heading", name="Inspect New tree")).to_be_focused()
    choose(page, "Condition", "Good")
    page.get_by_role("button", name="Keep it", exact=True).click()
    expect(page.get_by_text("Kept on this tablet")).to_be_visible()
    at(page, "/find", "Find a tree")
    expect(page.get_by_role("link", name=re.compile("^New tree"))).to_be_visible()
    server.set_signal(True)
    Tablet(page).send()
    added, look = server.records.values()
    assert (added["kind"], added["payload"]["species"], added["payload"]["dbh_cm"]) == ("tree", 1, 25)
    assert added["payload"]["lat"] == pytest.approx(47.2, abs=0.01)
    assert look["payload"]["tree"] == added["id"]


def test_a_new_tree_stands_where_the_tablet_stands(opened) -> None:
    page = opened(geolocation=HERE, permissions=["geolocation"])
    at(page, "/new", "A tree that is not here yet")
    page.get_by_role("button", name="It stands where I stand").click()
    expect(page.get_by_text("The tree stands at 47.200000, 8.500000, as the tablet stood, within 6 m.")).to_be_visible()


# ---- Gloves, sunlight, keyboard --------------------------------------------------------------------------------------

SCREENS = {
    "/find": "Find a tree",
    "/map": "Map",
    "/due": "Looks that are due",
    "/tree/1": "LG-1",
    "/inspect/1": "Inspect LG-1",
    "/new": "A tree that is not here yet",
    "/packs": "Parks on this tablet",
    "/outbox": "Outbox",
}
SMALL = """(least) => {
  const targets = document.querySelectorAll("a[href], button, input, select, textarea, summary, canvas[tabindex]");
  const hit = (target) => (["radio", "checkbox", "file"].includes(target.type) ? target.closest("label") : target);
  return [...targets].map(hit).filter((target) => target.checkVisibility() && !target.matches(".skip-link"))
    .map((target) => [target.textContent || target.id, target.getBoundingClientRect()])
    .filter(([, box]) => box.width < least || box.height < least)
    .map(([name, box]) => `${name}: ${Math.round(box.width)} × ${Math.round(box.height)}`);
}"""


def everything_unfolded(page: Page, path: str) -> None:
    if path == "/inspect/1":
        page.get_by_label("Girdling roots").check()
        page.get_by_label("Dead limbs", exact=True).check()
        card = assess(page)
        choose(card, "Likelihood of impact", "Low")
        card.get_by_label("Prune").check()
        card.get_by_label("Monitor").check()
    page.evaluate("for (const each of document.querySelectorAll('details')) each.open = true")


def test_every_screen_is_made_for_gloves(page, axe) -> None:
    for path, heading in SCREENS.items():
        at(page, path, heading)
        everything_unfolded(page, path)
        axe(page)
        for viewport in (LYING, TABLET):
            page.set_viewport_size(viewport)
            assert page.evaluate(SMALL, LEAST_TARGET_PX) == [], path
            assert page.evaluate("document.documentElement.scrollWidth") <= viewport["width"], path


def test_a_look_is_recorded_by_the_keyboard_alone(page, server) -> None:
    page.get_by_label("Tag or species").focus()
    page.keyboard.type("LG-2")
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", name="LG-2")).to_be_focused()
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", name="Inspect LG-2")).to_be_focused()
    condition = page.get_by_role("group", name="Condition").get_by_role("radio").first
    for _ in range(120):
        page.keyboard.press("Tab")
        if condition.evaluate("each => each === document.activeElement"):
            break
    page.keyboard.press("Space")
    for _ in range(20):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement.textContent") == "Keep it":
            break
    page.keyboard.press("Enter")
    expect(page.get_by_text("Kept on this tablet")).to_be_visible()
