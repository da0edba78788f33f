const events = new EventSource("/events");
events.addEventListener("view", (event) => {
  document.getElementById("view").textContent = JSON.stringify(JSON.parse(event.data), null, 2);
});
events.addEventListener("line", (event) => {
  document.getElementById("said").textContent = JSON.parse(event.data).words;
});
