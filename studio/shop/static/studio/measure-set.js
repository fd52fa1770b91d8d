// The measures of a set are numbered as they are pressed. Without this they stand in the order of the list.
const form = document.querySelector("#set");
const order = form.elements.order;
const boxes = [...form.querySelectorAll("[name=measures]")];
let pressed = order.value.split(" ").filter((key) => boxes.some((box) => box.value === key && box.checked));
pressed.push(...boxes.filter((box) => box.checked && !pressed.includes(box.value)).map((box) => box.value));
const draw = () => {
  order.value = pressed.join(" ");
  document.querySelector("[data-count]").textContent = `${pressed.length} chosen`;
  for (const box of boxes) box.closest("label").querySelector("output").value = box.checked ? pressed.indexOf(box.value) + 1 : "";
};
form.addEventListener("change", (event) => {
  if (event.target.name !== "measures") return;
  const key = event.target.value;
  pressed = pressed.filter((other) => other !== key);
  if (event.target.checked) pressed.push(key);
  draw();
});
draw();
