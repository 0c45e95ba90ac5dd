// The phone's clock goes with the inspection: the record keeps it beside the server's. Without this script the server's stands for both.
const clock = document.querySelector("[data-device-clock]");
clock?.form?.addEventListener("submit", () => {
  clock.value = new Date().toISOString();
});
