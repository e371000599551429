// Package archive keeps records for a long time: it seals each into a bag (RFC
// 8493) that can be read, checked and built again by itself, and verifies an
// archive of such bags. An archive is a folder:
//
//	taut.archive             a marker that names the layout's version
//	APPARATUS/               named after the identity of the apparatus
//	  ledger.jsonl           a line for each bag, in the order of sealing
//	  2026-03-12-TITLE/      one bag
//	    bagit.txt bag-info.txt manifest-sha256.txt manifest-sha512.txt
//	    tagmanifest-sha256.txt tagmanifest-sha512.txt
//	    data/ro-crate-metadata.json   what is what (RO-Crate 1.1)
//	    data/record.html              the page
//	    data/results.json             the results file
//	    data/source/…                 the record and every file that it reads
//	    data/theme/…                  the theme of the page
//
// Bags and lines are only ever added. A line names the sums of its bag's tag
// manifests, which name those of the manifests, which name those of all files;
// and it names the sum of the line before. So the sum of the last line, the
// head, stands for everything that an apparatus' folder holds. That lines were
// taken off the end cannot be seen from within: for that, a head must have been
// noted elsewhere, or the lines be signed and the last one known.
//
// Everything below an archive's folder is opened through an os.Root: no link
// and no name in a manifest leads outside.
package archive
