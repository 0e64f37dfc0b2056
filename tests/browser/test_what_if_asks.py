"""What the sliders ask: nothing that nobody touched, and everything that somebody did."""

import re

from playwright.sync_api import Browser, expect

from tests.browser.conftest import Served


def test_units_do_not_move_the_figures_and_a_drag_outlives_another_fuel(
    chromium: Browser, served: Served
):
    page = chromium.new_page()
    try:
        page.goto(f"{served.address}/settings")
        # 897 m is no whole step in ft and 115 km/h none in mph: browsers move such sliders.
        page.locator("#unit-length").select_option("ft")
        page.locator("#unit-speed").select_option("mph")
        page.get_by_role("button", name="Keep").click()
        drawn = page.get_by_role("region", name="Figures").locator("td").first
        with page.expect_response(lambda reply: "/what-if/answer" in reply.url) as asked:
            page.goto(f"{served.address}/cases/demo/what-if")
        assert "altitude" not in asked.value.url
        assert "speed" not in asked.value.url
        slider = page.locator("#fuel_temperature_k")
        slider.focus()
        slider.press("Home")
        expect(page).to_have_url(re.compile("fuel_temperature_k="))
        with page.expect_response(lambda reply: "/what-if/answer" in reply.url) as asked:
            page.locator("#fuel").select_option("winter")
        assert "fuel_temperature_k=" in asked.value.url
        expect(drawn).to_contain_text("kPa")
    finally:
        page.goto(f"{served.address}/settings")
        page.locator("#unit-length").select_option("m")
        page.locator("#unit-speed").select_option("km/h")
        page.get_by_role("button", name="Keep").click()
        page.close()
