//! A store of files, on this machine's disk or in a bucket: listed, read and written. The one place that waits for
//! a network; to the modules that call it, it is as synchronous as a disk.

use futures_util::{StreamExt, TryStreamExt, stream};
use object_store::{ObjectStore, ObjectStoreExt, PutPayload};
use std::collections::BTreeSet;
use std::fs::File;
use std::io::Write;
use std::path::{Path, PathBuf};
use tokio::runtime::Runtime;
use url::Url;

/// Where a file lies in its store: folders and name parted by slashes, from the root.
pub(crate) use object_store::path::Path as Key;

/// Folders and name of a key, as they are.
pub(crate) fn parts(key: &Key) -> Vec<String> {
    let whole: &str = key.as_ref();
    let parts = whole.split('/').filter(|part| !part.is_empty());
    parts.map(str::to_owned).collect()
}

/// Requests that are on their way at once. Common practice, no source: a field has some dozen files, and the ledger
/// of a season one for each field.
const AT_ONCE: usize = 32;

/// Why a store does not do what is asked.
#[derive(Debug, thiserror::Error)]
pub(crate) enum StoreError {
    /// No address of a store.
    #[error(
        "{url}: {said}\nhint: write file:///folder/SEASON.toml or s3://bucket/folder/SEASON.toml"
    )]
    Address {
        /// As it was given.
        url: String,
        /// What is wrong.
        said: String,
    },
    /// A request that failed, or a file that is not there.
    #[error("{key} cannot be {action}: {source}")]
    Request {
        /// Of which file or folder.
        key: Key,
        /// What was asked for.
        action: &'static str,
        /// Why.
        source: object_store::Error,
    },
    /// The scratch folder of this machine.
    #[error("{} cannot be {action}: {source}", path.display())]
    Scratch {
        /// Which file.
        path: PathBuf,
        /// What was to be done.
        action: &'static str,
        /// Why not.
        source: std::io::Error,
    },
}

/// A store.
pub(crate) struct Store {
    store: Box<dyn ObjectStore>,
    waiting: Runtime,
}

/// What lies directly in a folder.
#[derive(Debug, Clone, Default)]
pub(crate) struct Inside {
    pub(crate) files: Vec<Key>,
    pub(crate) folders: Vec<Key>,
}

impl Store {
    /// The store that `url` lies in, and where in it. Buckets are reached as the usual `AWS_…` variables say.
    pub(crate) fn open(url: &str) -> Result<(Store, Key), StoreError> {
        let refused = |said: String| StoreError::Address {
            url: url.to_owned(),
            said,
        };
        let parsed = Url::parse(url).map_err(|error| refused(error.to_string()))?;
        // Without it no connection is made; a second call finds it there, which is as good.
        let _ = rustls::crypto::ring::default_provider().install_default();
        let variables = std::env::vars().filter(|(name, _)| name.starts_with("AWS_"));
        let (store, key) = object_store::parse_url_opts(&parsed, variables)
            .map_err(|error| refused(error.to_string()))?;
        let waiting = tokio::runtime::Builder::new_current_thread()
            .enable_all()
            .build()
            .map_err(|error| refused(error.to_string()))?;
        Ok((Store { store, waiting }, key))
    }

    /// Every file below a folder, however deep; none when there is no such folder.
    pub(crate) fn below(&self, folder: &Key) -> Result<Vec<Key>, StoreError> {
        let listed = self.store.list(Some(folder));
        let keys = listed.map_ok(|about| about.location).try_collect();
        match self.waiting.block_on(keys) {
            Err(object_store::Error::NotFound { .. }) => Ok(Vec::new()),
            other => other.map_err(failed(folder, "listed")),
        }
    }

    /// What lies directly in a folder; nothing when there is no such folder.
    pub(crate) fn inside(&self, folder: &Key) -> Result<Inside, StoreError> {
        let listed = self.store.list_with_delimiter(Some(folder));
        match self.waiting.block_on(listed) {
            Ok(listed) => Ok(Inside {
                files: listed.objects.into_iter().map(|o| o.location).collect(),
                folders: listed.common_prefixes,
            }),
            Err(object_store::Error::NotFound { .. }) => Ok(Inside::default()),
            Err(error) => Err(failed(folder, "listed")(error)),
        }
    }

    /// Copies files to this machine, each to where `place` says, whose folder is there. Those that are not in the
    /// store are left out; the others are named.
    pub(crate) fn fetch(
        &self,
        keys: &BTreeSet<Key>,
        place: impl Fn(&Key) -> PathBuf,
    ) -> Result<BTreeSet<Key>, StoreError> {
        let place = &place;
        let copies = stream::iter(keys).map(|key| async move {
            let there = self.fetch_one(key, &place(key)).await?;
            Ok(there.then(|| key.clone()))
        });
        let copied = copies.buffer_unordered(AT_ONCE);
        let copied = copied.try_filter_map(|key| async move { Ok(key) });
        let copied = copied.try_collect();
        self.waiting.block_on(copied)
    }

    async fn fetch_one(&self, key: &Key, path: &Path) -> Result<bool, StoreError> {
        let got = match self.store.get(key).await {
            Err(object_store::Error::NotFound { .. }) => return Ok(false),
            got => got.map_err(failed(key, "read"))?,
        };
        let on_disk = |source| StoreError::Scratch {
            path: path.to_owned(),
            action: "written",
            source,
        };
        let mut file = File::create(path).map_err(on_disk)?;
        // A log may be larger than memory should be.
        let mut parts = got.into_stream();
        while let Some(part) = parts.try_next().await.map_err(failed(key, "read"))? {
            file.write_all(&part).map_err(on_disk)?;
        }
        Ok(true)
    }

    /// The contents of files, in their order.
    pub(crate) fn read(&self, keys: &[Key]) -> Result<Vec<Vec<u8>>, StoreError> {
        let reads = stream::iter(keys).map(|key| async move {
            let got = self.store.get(key).await.map_err(failed(key, "read"))?;
            let bytes = got.bytes().await.map_err(failed(key, "read"))?;
            Ok(bytes.to_vec())
        });
        self.waiting.block_on(reads.buffered(AT_ONCE).try_collect())
    }

    /// Copies files of this machine into the store, each whole or not at all, in no order.
    pub(crate) fn put_files(&self, files: &[(PathBuf, Key)]) -> Result<(), StoreError> {
        let puts = stream::iter(files).map(|(path, key)| async move {
            let bytes = std::fs::read(path).map_err(|source| StoreError::Scratch {
                path: path.clone(),
                action: "read",
                source,
            })?;
            self.put_one(key, bytes).await
        });
        // Few at once, because each is held in memory while it travels.
        let put = puts.buffer_unordered(4).try_collect();
        self.waiting.block_on(put)
    }

    /// Writes a file, whole or not at all.
    pub(crate) fn put(&self, key: &Key, bytes: Vec<u8>) -> Result<(), StoreError> {
        self.waiting.block_on(self.put_one(key, bytes))
    }

    async fn put_one(&self, key: &Key, bytes: Vec<u8>) -> Result<(), StoreError> {
        let put = self.store.put(key, PutPayload::from(bytes)).await;
        put.map(|_| ()).map_err(failed(key, "written"))
    }

    /// Takes files away; one that is not there is as good.
    pub(crate) fn remove(&self, keys: &[Key]) -> Result<(), StoreError> {
        self.waiting.block_on(async {
            for key in keys {
                match self.store.delete(key).await {
                    Ok(()) | Err(object_store::Error::NotFound { .. }) => {}
                    Err(error) => return Err(failed(key, "taken away")(error)),
                }
            }
            Ok(())
        })
    }
}

fn failed(key: &Key, action: &'static str) -> impl FnOnce(object_store::Error) -> StoreError {
    let key = key.clone();
    move |source| StoreError::Request {
        key,
        action,
        source,
    }
}
