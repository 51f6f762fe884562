// Puts a thing that was scanned into the form of the step: the field that asks for it, nearest
// to where the person is. Choices are known by the uid in their value, so every form can do it.

const FORMS = "main form:not([method=get])";

const accepts = (field, uids) =>
  field.tagName === "SELECT"
    ? [...field.options].find((one) => uids.includes(one.value) && !one.disabled)
    : uids.includes(field.value) && !field.disabled && field;

function fieldsOf(form) {
  return [...form.querySelectorAll("select, input[type=radio], input[type=checkbox]")];
}

function isSettled(field) {
  if (field.dataset.scanned) return true;
  if (field.tagName === "SELECT") return !field.selectedOptions[0]?.defaultSelected && field.selectedIndex > 0;
  return field.checked;
}

// The field for it: the one in use, else the next one behind it that is still open, else the
// first open one, else the first that takes it at all.
function nearest(fields) {
  const here = document.activeElement;
  const own = fields.find((one) => one === here);
  if (own) return own;
  const open = fields.filter((one) => !isSettled(one));
  const after = open.find(
    (one) => here && here.compareDocumentPosition(one) & Node.DOCUMENT_POSITION_FOLLOWING,
  );
  return after ?? open[0] ?? fields[0];
}

// What is folded away counts as shown, a later step does not.
const isShown = (field) => (field.closest("details:not([open])") ?? field).checkVisibility();

// Fill it in. Gives the field, or null where no form on the page asks for such a thing.
export function fill(things) {
  const uids = things.map((one) => one.uid);
  const fields = [...document.querySelectorAll(FORMS)]
    .flatMap(fieldsOf)
    .filter((one) => accepts(one, uids) && isShown(one));
  if (!fields.length) return null;
  const field = nearest(fields);
  if (field.tagName === "SELECT") field.value = accepts(field, uids).value;
  else field.checked = true;
  field.dataset.scanned = "yes";
  field.closest("details")?.setAttribute("open", "");
  field.dispatchEvent(new Event("input", { bubbles: true }));
  field.dispatchEvent(new Event("change", { bubbles: true }));
  field.focus();
  return field;
}

// Whether something was typed here that going to another page would lose.
export function isBegun() {
  const fields = document.querySelectorAll(
    `${FORMS} :is(input:not([type=hidden]), select, textarea)`,
  );
  return [...fields].some((one) => {
    if (one.dataset.scanned) return true;
    if (one.type === "radio" || one.type === "checkbox") return one.checked !== one.defaultChecked;
    if (one.tagName === "SELECT") {
      const before = [...one.options].findIndex((option) => option.defaultSelected);
      return one.selectedIndex !== Math.max(before, 0);
    }
    return one.value !== one.defaultValue;
  });
}

// A way on this page that is about the thing, or about who is in it: a slip of the shift.
export function wayTo(things) {
  const uids = things.flatMap((one) => [one.uid, ...one.beside]);
  const links = document.querySelectorAll("main .slip a[href]");
  return [...links].find((one) => uids.some((uid) => one.getAttribute("href").includes(uid)));
}
