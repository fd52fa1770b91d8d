// A message that is opened in the texts or the mail is marked as sent. Without this the button does it.
document.addEventListener("click", (event) => {
  const link = event.target.closest("[data-sends]");
  if (link) document.getElementById(link.dataset.sends)?.requestSubmit();
});
