// The phone's own database: what is kept of each batch, the deeds that wait, and forms caught on their way.
// The service worker runs this as a script and pages load it as a module, so it is reached through `self`.

self.pocketDatabase = {
  open() {
    return idb.openDB("soapshop", 1, {
      upgrade(database) {
        database.createObjectStore("packs", { keyPath: "id" });
        const deeds = database.createObjectStore("deeds", { keyPath: "key" });
        deeds.createIndex("in order", ["batch", "order"]);
        database.createObjectStore("caught", { keyPath: "id", autoIncrement: true });
      },
    });
  },

  // Keeps a batch as the server gave it at a moment. Deeds that had arrived before are in it: they may go.
  async keepPack(database, pack, askedAt) {
    const writing = database.transaction(["packs", "deeds"], "readwrite");
    const deeds = writing.objectStore("deeds");
    for (const deed of await deeds.getAll()) {
      const known = deed.state === "sent" && deed.batch === pack.batch.id && deed.sentAt < askedAt;
      if (known) await deeds.delete(deed.key);
    }
    const kept = (await writing.objectStore("packs").get(pack.batch.id)) ?? { id: pack.batch.id };
    await writing.objectStore("packs").put({ ...kept, pack });
    await writing.done;
  },

  // A batch that is no longer on the bench is not kept, once nothing of it waits. Tells whether it went.
  async forgetIfDone(database, { id, state }) {
    const deeds = await database.getAll("deeds");
    const waits = deeds.some((deed) => deed.batch === id && deed.state !== "sent");
    if (state === "planned" || waits) return false;
    await database.delete("packs", id);
    await (await caches.open("pocket")).delete(`/batches/${id}/pocket/`);
    return true;
  },
};
