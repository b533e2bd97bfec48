// Photos that wait to be sent, in the browser's database: they are too large for what keeps the taps.

const STORE = "photos";

function opened() {
  return new Promise((resolve, reject) => {
    const asked = indexedDB.open("bench", 1);
    asked.onupgradeneeded = () => asked.result.createObjectStore(STORE);
    asked.onsuccess = () => resolve(asked.result);
    asked.onerror = () => reject(asked.error);
  });
}

async function inStore(mode, act) {
  const database = await opened();
  try {
    return await new Promise((resolve, reject) => {
      const work = database.transaction(STORE, mode);
      const asked = act(work.objectStore(STORE));
      work.oncomplete = () => resolve(asked.result);
      work.onabort = work.onerror = () => reject(work.error);
    });
  } finally {
    database.close();
  }
}

/* Keep a file under the tap's id; resolves once it is safe. */
export const keepPhoto = (id, file) => inStore("readwrite", (store) => store.put(file, id));

/* The file, or nothing where the browser has thrown it away. */
export const photoOf = (id) => inStore("readonly", (store) => store.get(id));

export const dropPhoto = (id) => inStore("readwrite", (store) => store.delete(id)).catch(() => {});

const LONGEST = 2560;

/* The photo no larger than the server keeps it, so that a weak connection carries it; as it is where it cannot be read. */
export async function shrunk(file) {
  try {
    const picture = await createImageBitmap(file);
    const scale = LONGEST / Math.max(picture.width, picture.height);
    if (scale >= 1) return file;
    const canvas = document.createElement("canvas");
    canvas.width = Math.round(picture.width * scale);
    canvas.height = Math.round(picture.height * scale);
    canvas.getContext("2d").drawImage(picture, 0, 0, canvas.width, canvas.height);
    picture.close();
    const small = await new Promise((resolve) => { canvas.toBlob(resolve, "image/jpeg", 0.88); });
    return small && small.size < file.size ? small : file;
  } catch { return file; }
}
