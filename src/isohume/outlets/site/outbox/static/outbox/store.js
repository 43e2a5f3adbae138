// Entries that wait, in this browser's own database. Loaded by pages and by the worker alike, so it is a plain script.
(function (scope) {
  "use strict";
  const NAME = "isohume-outbox";
  const ENTRIES = "entries";
  const FACTS = "facts";

  function opened() {
    return new Promise((resolve, reject) => {
      const asked = indexedDB.open(NAME, 1);
      asked.onupgradeneeded = () => {
        asked.result.createObjectStore(ENTRIES, { keyPath: "id", autoIncrement: true });
        asked.result.createObjectStore(FACTS);
      };
      asked.onsuccess = () => resolve(asked.result);
      asked.onerror = () => reject(asked.error);
    });
  }

  // The answer comes once the database has it on disk, not when it was asked.
  async function within(store, mode, act) {
    const database = await opened();
    try {
      return await new Promise((resolve, reject) => {
        const transaction = database.transaction(store, mode, { durability: "strict" });
        const asked = act(transaction.objectStore(store));
        transaction.oncomplete = () => resolve(asked.result);
        transaction.onerror = transaction.onabort = () => reject(transaction.error);
      });
    } finally {
      database.close();
    }
  }

  scope.isohumeOutbox = {
    all: () => within(ENTRIES, "readonly", (store) => store.getAll()),
    put: (entry) => within(ENTRIES, "readwrite", (store) => store.put(entry)),
    remove: (id) => within(ENTRIES, "readwrite", (store) => store.delete(id)),
    fact: (name) => within(FACTS, "readonly", (store) => store.get(name)),
    note: (name, value) => within(FACTS, "readwrite", (store) => store.put(value, name)),
  };
})(self);
