// Asking the program; what it cannot do comes back as words.

async function answered(promise) {
  let answer;
  try {
    answer = await promise;
  } catch {
    throw new Error("gone");
  }
  if (answer.status === 409) throw new Error((await answer.text()).trim());
  if (!answer.ok) throw new Error(answer.status === 403 ? "gone" : "refused");
  return answer.json();
}

export const get = (path) => answered(fetch(path));

/** Brings a file as it is. */
export const bring = (path, file) =>
  answered(fetch(path, { method: "POST", headers: { "Content-Type": "application/octet-stream" }, body: file }));

export const post = (path, body) =>
  answered(
    fetch(path, {
      method: "POST",
      headers: { "Content-Type": "application/json" },
      body: JSON.stringify(body),
    }),
  );
