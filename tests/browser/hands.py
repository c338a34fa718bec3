"""What fingers and keyboards need of a page: sizes, the order of Tab, a ring to see.

Sizes: WCAG 2.2, success criterion 2.5.8 (24 px, with its exceptions for links in a
sentence and for spacing), and for what is filled in or pressed in a form 2.5.5
(44 px). Order and ring: 2.4.3 and 2.4.7. No side scroll at 320 px: 1.4.10.
"""

from playwright.sync_api import Page

COMMON = """
const CONTROLS = "a[href], button, input:not([type=hidden]), select, textarea, summary";
const shows = (each) => each.checkVisibility({visibilityProperty: true})
  && each.getBoundingClientRect().width > 0 && each.getBoundingClientRect().right > 0;
const named = (each) => each.outerHTML.slice(0, 120).replace(/\\s+/g, " ");
"""

SIZES = (
    "() => {"
    + COMMON
    + """
const target = (each) => ["radio", "checkbox"].includes(each.type)
  && each.closest("label") || each;
const inSentence = (each) => each.tagName === "A"
  && getComputedStyle(each).display === "inline"
  && each.parentElement.innerText.trim().length > each.innerText.trim().length;
const all = [...document.querySelectorAll(CONTROLS)].filter(shows).map(target);
const box = (each) => each.getBoundingClientRect();
const small = (each, least) => {
  const {width, height} = box(each);
  return width < least - 0.5 || height < least - 0.5;
};
const crowded = (each) => {
  const mine = box(each);
  const x = mine.left + mine.width / 2, y = mine.top + mine.height / 2;
  return all.some((other) => {
    if (other === each || other.contains(each) || each.contains(other)) return false;
    const its = box(other);
    const dx = Math.max(its.left - x, 0, x - its.right);
    const dy = Math.max(its.top - y, 0, y - its.bottom);
    return Math.hypot(dx, dy) < 12;
  });
};
const found = [];
for (const each of all) {
  const isForm = each.closest("form") && !["A", "SUMMARY"].includes(each.tagName);
  const {width, height} = box(each);
  const said = `${width.toFixed(0)} x ${height.toFixed(0)} px: ${named(each)}`;
  if (isForm && small(each, 44)) found.push(`below 44: ${said}`);
  else if (small(each, 24) && !inSentence(each) && crowded(each))
    found.push(`below 24: ${said}`);
}
return found; }"""
)

BEGIN = (
    "() => {"
    + COMMON
    + """
const first = (each) => each.type !== "radio" || each.checked
  || !document.querySelector(`[name="${CSS.escape(each.name)}"]:checked`)
  && document.querySelector(`[name="${CSS.escape(each.name)}"]`) === each;
const all = [...document.querySelectorAll(CONTROLS + ", [tabindex]")];
window.tabOrder = all.filter((each) => (shows(each) || each.className === "skip")
  && each.tabIndex >= 0 && !each.disabled && first(each));
window.tabMet = [];
window.tabNoRing = [];
document.addEventListener("focusin", (event) => {
  const each = event.target;
  if (window.tabMet.at(-1) === each) return;
  window.tabMet.push(each);
  const style = getComputedStyle(each);
  if (style.outlineStyle === "none" || parseFloat(style.outlineWidth) < 2)
    window.tabNoRing.push(named(each));
});
document.activeElement.blur();
const inside = "input[type=datetime-local], input[type=date]";
return window.tabOrder.length + 7 * document.querySelectorAll(inside).length; }"""
)

END = (
    "() => {"
    + COMMON
    + """
const again = window.tabMet.indexOf(window.tabMet[0], 1);
const met = again < 0 ? window.tabMet : window.tabMet.slice(0, again);
const scrolls = (each) => each.scrollWidth > each.clientWidth;
const listed = met.filter((each) => window.tabOrder.includes(each) || !scrolls(each));
const found = window.tabNoRing.map((each) => `no ring: ${each}`);
for (const each of window.tabOrder)
  if (!listed.includes(each)) found.push(`not reached by Tab: ${named(each)}`);
const order = listed.map((each) => window.tabOrder.indexOf(each));
order.forEach((place, n) => {
  if (n && place < order[n - 1]) found.push(`out of order: ${named(listed[n])}`);
});
return found; }"""
)

MOST_TABS = 400


def complaints(page: Page) -> list[str]:
    """Return what fingers would miss: small targets, side scroll at this width."""
    found = [f"{page.url}: {each}" for each in page.evaluate(SIZES)]
    width = page.evaluate("document.documentElement.scrollWidth")
    room = page.viewport_size["width"]
    if width > room:
        found.append(f"{page.url}: {width} px wide in {room} px")
    return found


def keyboard_complaints(page: Page) -> list[str]:
    """Return what Tab alone does not reach in order, or shows without a ring."""
    for _ in range(min(page.evaluate(BEGIN) + 3, MOST_TABS)):
        page.keyboard.press("Tab")
    return [f"{page.url}: {each}" for each in page.evaluate(END)]
