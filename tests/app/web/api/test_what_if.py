"""What if over HTTP: the figures of `predict`, what can be asked, and runs as they are judged."""

import pytest

FIELDS = ("depression_pa", "pressure_abs_pa", "feed_margin", "speed_m_per_s")


def test_what_if_gives_the_figures_of_predict_and_the_next_questions(lasting):
    told = lasting.get("/cases/demo/what-if?kit=secondary")
    predicted = lasting.post("/cases/demo/predict", {"kits": ["secondary"]})
    theirs = {each["configuration"]: each for each in predicted["configurations"]}
    assert [each["configuration"] for each in told["configurations"]] == ["baseline", "secondary"]
    for each in told["configurations"]:
        same = theirs[each["configuration"]]
        for name in FIELDS:
            # Both have the same ends; one has twice the steps of the other.
            fine, coarse = sorted((each["pull"][name], same["pull"][name]), key=len, reverse=True)
            step = (len(fine) - 1) // (len(coarse) - 1)
            assert fine[::step] == pytest.approx(coarse, rel=1e-6)
        last = same["staircase"]["steps"][-1]
        assert each["depression_pa"] == pytest.approx(last["depression_after_pa"], rel=1e-9)
        assert each["depression_low_pa"] <= each["depression_pa"] <= each["depression_high_pa"]
    sliders = told["controls"]["sliders"]
    assert {"fuel_temperature_k", "altitude_m"} <= {each["name"] for each in sliders}


def test_what_a_slider_says_can_be_asked_as_it_stands(lasting):
    controls = lasting.get("/cases/demo/what-if?kit=secondary")["controls"]
    ends = {each["name"]: each["most"] for each in controls["sliders"]}
    ends["speed_m_per_s"] *= 0.9
    question = {"kits": ["secondary"], "ranges": False, "loading_share": 0.1, **ends}
    told = lasting.post("/cases/demo/what-if", question)
    assert told["asked"]["altitude_m"] == ends["altitude_m"]
    assert told["conditions"]["fuel_temperature_k"] == ends["fuel_temperature_k"]
    assert told["speed_m_per_s"] == pytest.approx(ends["speed_m_per_s"], rel=1e-9)
    assert told["configurations"][0]["depression_low_pa"] is None


def test_all_that_is_wrong_with_a_question_is_told_at_once(lasting):
    wrong = {"fuel_temperature_k": 1.0, "altitude_m": 1e9, "kits": ["none"]}
    assert len(lasting.post("/cases/demo/what-if", wrong, 422)["findings"]) == 3
    lasting.post("/cases/demo/what-if", {"altitude_m": "high"}, 422)
    lasting.post("/cases/demo/what-if", {"colour": "red"}, 422)
    lasting.get("/cases/demo/what-if?kit=a&kit=b&kit=c", 422)
    lasting.get("/cases/none/what-if", 404)


def test_a_run_is_told_with_window_channels_faults_and_steps(lasting):
    told = lasting.get("/cases/demo/runs/2")
    assert told["usable"]
    assert told["window"]["start_s"] < told["window"]["end_s"]
    assert told["line"]["number"] == 2
    channels = {each["channel"]: each for each in told["channels"]}
    assert channels["road_speed"]["samples"] > 100
    assert set(channels["road_speed"]["faults"]) == {"saturated", "stuck", "dropout", "outlier"}
    assert told["steps"]
    assert told["sentence"]
    lasting.get("/cases/demo/runs/900", 404)


def test_a_run_whose_log_cannot_be_read_says_so_and_has_no_window(lasting):
    told = lasting.ask("POST", "/cases", 201, json={"name": "blind", "begin": "demo"})
    case = told.headers["location"].removeprefix("/api")
    seen = lasting.get(f"{case}/edit")["revision"]
    blind = {
        "kind": "map_channel",
        "instrument": "cell",
        "channel": "road_speed",
        "column": "no such column",
        "unit": "km/h",
    }
    lasting.post(f"{case}/edit", blind, headers={"if-match": seen})
    told = lasting.get(f"{case}/runs/2")
    assert not told["usable"]
    assert told["window"] is None
    assert "no such column" in told["findings"][0]["message"]
