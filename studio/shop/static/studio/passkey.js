// Passkeys: what stands in data-passkey is asked of the browser, and its answer sent with the form.
(() => {
  const bytes = (text) => Uint8Array.from(atob(text.replace(/-/g, "+").replace(/_/g, "/")), (each) => each.charCodeAt(0));
  const text = (buffer) => btoa(String.fromCharCode(...new Uint8Array(buffer))).replace(/\+/g, "-").replace(/\//g, "_").replace(/=/g, "");
  const known = (keys) => keys?.map((key) => ({ ...key, id: bytes(key.id) }));

  const answer = async ({ publicKey }) => {
    const asked = { ...publicKey, challenge: bytes(publicKey.challenge) };
    const made = publicKey.rp
      ? await navigator.credentials.create({ publicKey: { ...asked, user: { ...asked.user, id: bytes(asked.user.id) }, excludeCredentials: known(asked.excludeCredentials) } })
      : await navigator.credentials.get({ publicKey: { ...asked, allowCredentials: known(asked.allowCredentials) } });
    const response = { clientDataJSON: text(made.response.clientDataJSON) };
    for (const name of ["attestationObject", "authenticatorData", "signature", "userHandle"]) {
      if (made.response[name]) response[name] = text(made.response[name]);
    }
    return { id: made.id, rawId: text(made.rawId), type: made.type, response, clientExtensionResults: {} };
  };

  if (!window.PublicKeyCredential) return;
  document.querySelector("[data-without-passkeys]")?.remove();
  for (const part of document.querySelectorAll("[data-passkey]")) {
    const [button, refused, field] = ["button", "[role=alert]", "input"].map((each) => part.querySelector(each));
    part.hidden = false;
    button.addEventListener("click", async () => {
      refused.hidden = button.disabled = true;
      try {
        field.value = JSON.stringify(await answer(JSON.parse(part.dataset.passkey)));
        part.closest("form").submit();
      } catch {
        refused.hidden = button.disabled = false;
      }
    });
  }
})();
