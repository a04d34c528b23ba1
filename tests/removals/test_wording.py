from removals import wording


def test_lengths_stand_in_both_units() -> None:
    assert wording.length(30.48) == "30.5 m (100 ft)"
    assert wording.length(0.0254) == "2.54 cm (1 in)"


def test_forces_masses_and_speeds_stand_in_both_units() -> None:
    assert wording.force(4448.22) == "4,448 N (1,000 lbf)"
    assert wording.mass(1000) == "1,000 kg (2,205 lb)"
    assert wording.speed(9.0) == "9.0 m/s (20 mph)"


def test_shares_and_angles() -> None:
    assert (wording.percent(1 / 3), wording.degrees(45.0)) == ("33.3 %", "45°")
