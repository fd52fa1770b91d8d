// When an answer does not come, the page says so and keeps what was typed.

const say = (words, address) => {
  const form = document.getElementById("drop-off");
  let notice = document.getElementById("no-answer");
  if (!notice) {
    notice = document.createElement("p");
    notice.id = "no-answer";
    notice.className = "notice wrong";
    notice.setAttribute("role", "alert");
    form.before(notice);
  }
  notice.textContent = words;
  if (address) {
    const link = Object.assign(document.createElement("a"), { href: address, target: "_blank" });
    link.textContent = " Log in on a page beside this one";
    notice.append(link, ", then go on here.");
  }
  notice.scrollIntoView({ block: "center" });
};

for (const name of ["htmx:sendError", "htmx:timeout", "htmx:responseError"]) {
  document.addEventListener(name, () => {
    say("No answer from the studio's computer. Nothing typed is lost: try again in a moment.");
  });
}

// A login that ended must not put the login page in the place of a half-filled form.
document.addEventListener("htmx:beforeSwap", (event) => {
  const login = document.getElementById("drop-off").dataset.login;
  const ended = new URL(event.detail.xhr.responseURL).pathname === login;
  if (ended) {
    event.detail.shouldSwap = false;
    say("You are no longer logged in. Nothing typed is lost.", login);
  } else {
    document.getElementById("no-answer")?.remove();
  }
});

// Logging in again changes the token that forms are sent with; the cookie has the one that holds.
document.addEventListener("htmx:configRequest", (event) => {
  const token = document.cookie.match(/(?:^|; )csrftoken=([^;]+)/)?.[1];
  if (token && event.detail.verb === "post") {
    event.detail.parameters.csrfmiddlewaretoken = token;
    event.detail.headers["X-CSRFToken"] = token;
  }
});
