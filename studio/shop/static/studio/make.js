// The card of a make: a picture is kept the moment it is taken.
document.addEventListener("change", (event) => {
  const form = event.target.closest("[data-at-once]");
  if (form && event.target.files?.length) form.requestSubmit();
});
