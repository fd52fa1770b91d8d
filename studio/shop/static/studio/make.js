// The card of a make: a picture is kept the moment it is taken, and what an act asks comes in sight.
document.addEventListener("change", (event) => {
  const form = event.target.closest("[data-at-once]");
  if (form && event.target.files?.length) form.requestSubmit();
});
document.addEventListener("toggle", (event) => {
  if (event.target.matches(".make-acts > details[open]")) event.target.querySelector("form").scrollIntoView({ block: "center" });
}, true);
