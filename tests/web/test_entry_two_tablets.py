"""Two tablets on one vehicle merge; where they contradict, both stand until a person decides."""

from __future__ import annotations

from entry_support import all_sent, begin, browser, events_in, go, opened, served, take


def test_two_tablets_merge_and_a_person_settles_what_contradicts() -> None:
    """Offline on both, one corner 9.8 and 7.9: nothing is lost, finish waits, both show the winner."""
    with served() as server, browser() as chromium:
        first = opened(chromium.new_context(), server.url)
        draft = begin(first, "Box 12")
        all_sent(first)
        second = opened(chromium.new_context(), server.url)
        second.click("button.row:has-text('Box 12')")
        second.wait_for_selector(".walk")

        server.down = True
        take(first, draft, "1L", "F5", "pad_inner", "9.8", "LT")
        take(first, draft, "1L", "F11", "slide", "55")
        take(second, draft, "1L", "F5", "pad_inner", "7.9", "LT")
        take(second, draft, "1R", "F11", "slide", "stuck")
        take(second, draft, "1L", "F14", "guide_pin_boot", "sound")
        take(first, draft, "1L", "F14", "guide_pin_boot", "sound")
        server.down = False
        for page in (first, second):
            page.reload()
            page.wait_for_selector("html[data-ready]")
            all_sent(page)
        first.reload()
        first.wait_for_selector("html[data-ready]")
        all_sent(first)
        ids = {event["id"] for event in server.events.values()}
        assert len(ids) == 7
        for page in (first, second):
            for _ in range(50):
                if len(events_in(page, "kept")) == len(ids):
                    break
                page.wait_for_timeout(100)
            assert {event["id"] for event in events_in(page, "kept")} == ids

        go(first, f"#/d/{draft}/open")
        first.wait_for_selector(".contradiction")
        assert first.locator(".contradiction").count() == 1
        assert sorted(first.locator(".side .shown").all_inner_texts()) == ["7.9 mm", "9.8 mm"]
        first.click("text=Finish the inspection")
        first.wait_for_selector("text=decide first which reading stands")
        assert "finish" not in {event["kind"] for event in server.events.values()}
        first.click(".side:has-text('7.9 mm') >> text=This one stands")
        first.wait_for_function("() => !document.querySelector('.contradiction')")
        all_sent(first)
        second.reload()
        second.wait_for_selector("html[data-ready]")
        all_sent(second)
        second.wait_for_timeout(300)
        go(second, f"#/d/{draft}/1L/F5/pad_inner/LT")
        second.wait_for_selector(".said .shown:has-text('7.9 mm')")
        answer = server.draft(draft)
        assert answer["contradictions"] == []
        assert answer["document"]["wheel_end"][0]["pad_inner"]["LT"] == "7.9 mm"
        readings = [event for event in server.events.values() if event["kind"] == "reading"]
        kept = {event["value"] for event in readings if event["field"] == "pad_inner"}
        assert kept == {"7.9 mm", "9.8 mm"}


def test_a_correction_on_one_tablet_replaces_and_taking_back_leaves_nothing() -> None:
    """The last entry of a tablet holds; 'take back' does not bring the one before it back to life."""
    with served() as server, browser() as chromium:
        page = opened(chromium.new_context(), server.url)
        draft = begin(page, "Box 12")
        take(page, draft, "1L", "F11", "slide", "55")
        take(page, draft, "1L", "F11", "slide", "60")
        go(page, f"#/d/{draft}/1L/F11/slide")
        page.wait_for_selector(".said .shown:has-text('60 N')")
        all_sent(page)
        assert server.draft(draft)["document"]["wheel_end"][0]["slide"] == "60 N"
        page.click("text=Take back")
        page.wait_for_function("() => !document.querySelector('.said .shown')")
        all_sent(page)
        assert [end.get("slide") for end in server.draft(draft)["document"]["wheel_end"]] in ([], [None])
        kinds = [event["kind"] for event in server.events.values()]
        assert kinds == ["start", "reading", "reading", "retract", "retract"]
