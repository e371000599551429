package main

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"gopkg.in/yaml.v3"
)

const cluster = "../../examples/archive/cluster/"

// clusterArchive is an archive of some records, one of them damaged, and the
// report of the whole.
func clusterArchive(t *testing.T) (dir, whole string) {
	t.Helper()
	dir = t.TempDir()
	for i := range 6 {
		text := fmt.Sprintf("---\ntitle: Record %d\ndate: 2026-03-12\n---\n\n```calc\nL = %d mm\n```\n", i, i)
		if err := os.WriteFile(filepath.Join(dir, fmt.Sprintf("r%d.md", i)), []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	archive := filepath.Join(dir, "archive")
	var errs bytes.Buffer
	if code := run([]string{"seal", dir, "-o", archive}, nil, &bytes.Buffer{}, &errs); code != exitOK {
		t.Fatal(errs.String())
	}
	if err := os.WriteFile(filepath.Join(archive, "no-apparatus/2026-03-12-record-3/data/new"), nil, 0o666); err != nil {
		t.Fatal(err)
	}
	return archive, verifyOutput(t, exitErrors, archive)
}

// verifyOutput is what `taut verify` prints.
func verifyOutput(t *testing.T, code int, args ...string) string {
	t.Helper()
	var out, errs bytes.Buffer
	if got := run(append([]string{"verify", "--format", "json"}, args...), nil, &out, &errs); got != code {
		t.Fatalf("exit code %d: %s%s", got, out.String(), errs.String())
	}
	return out.String()
}

// parts runs a command line for each part, with the real program, and demands
// that the reports merge to that of the whole.
func parts(t *testing.T, n int, whole, reports string, command func(i int) *exec.Cmd) {
	t.Helper()
	var list []string
	for i := range n {
		c := command(i)
		if out, err := c.CombinedOutput(); err != nil {
			t.Fatalf("part %d: %s %v", i+1, out, err)
		}
		list = append(list, filepath.Join(reports, fmt.Sprintf("part-%d.json", i+1)))
	}
	if got := verifyOutput(t, exitErrors, append([]string{"--merge"}, list...)...); got != whole {
		t.Errorf("merged:\n%s\nnot:\n%s", got, whole)
	}
	if left, _ := filepath.Glob(filepath.Join(reports, "*.new")); len(left) > 0 {
		t.Error(left)
	}
}

// TestKubernetesJob holds the manifest to what the Job of batch/v1 demands
// (Kubernetes API reference, Job and PodSpec; from memory), and runs its
// command line for every index.
func TestKubernetesJob(t *testing.T) {
	text, err := os.ReadFile(cluster + "verify-job.yaml")
	if err != nil {
		t.Fatal(err)
	}
	var job struct {
		APIVersion string `yaml:"apiVersion"`
		Kind       string
		Metadata   struct{ Name string }
		Spec       struct {
			CompletionMode           string `yaml:"completionMode"`
			Completions, Parallelism int
			BackoffLimit             int `yaml:"backoffLimit"`
			Template                 struct {
				Spec struct {
					RestartPolicy string `yaml:"restartPolicy"`
					Containers    []struct {
						Name, Image     string
						Command, Args   []string
						Env             []struct{ Name, Value string }
						Resources       map[string]map[string]string
						SecurityContext map[string]bool `yaml:"securityContext"`
						VolumeMounts    []struct {
							Name      string
							MountPath string `yaml:"mountPath"`
							ReadOnly  bool   `yaml:"readOnly"`
						} `yaml:"volumeMounts"`
					}
					Volumes []struct {
						Name  string
						Claim struct {
							ClaimName string `yaml:"claimName"`
							ReadOnly  bool   `yaml:"readOnly"`
						} `yaml:"persistentVolumeClaim"`
					}
				}
			}
		}
	}
	d := yaml.NewDecoder(bytes.NewReader(text))
	d.KnownFields(true)
	if err := d.Decode(&job); err != nil {
		t.Fatal(err)
	}
	name := regexp.MustCompile(`^[a-z0-9]([-a-z0-9]*[a-z0-9])?$`)
	pod := job.Spec.Template.Spec
	switch {
	case job.APIVersion != "batch/v1", job.Kind != "Job", !name.MatchString(job.Metadata.Name):
		t.Errorf("%s %s %q", job.APIVersion, job.Kind, job.Metadata.Name)
	case job.Spec.CompletionMode != "Indexed", job.Spec.Completions < 1, job.Spec.Parallelism < 1:
		t.Errorf("%+v", job.Spec) // an Indexed Job needs its completions
	case pod.RestartPolicy != "Never" && pod.RestartPolicy != "OnFailure": // a Job knows no other
		t.Error(pod.RestartPolicy)
	case len(pod.Containers) != 1:
		t.Fatal(len(pod.Containers))
	}
	c := pod.Containers[0]
	if !name.MatchString(c.Name) || c.Image == "" || strings.Join(c.Command, " ") != "sh -c" || len(c.Args) != 1 {
		t.Fatalf("%+v", c)
	}
	volumes := map[string]string{}
	for _, v := range pod.Volumes {
		volumes[v.Name] = v.Claim.ClaimName
	}
	for _, m := range c.VolumeMounts {
		if volumes[m.Name] == "" || !filepath.IsAbs(m.MountPath) || (m.Name == "archive") != m.ReadOnly {
			t.Errorf("%+v", m)
		}
	}
	if len(c.Env) != 1 || c.Env[0].Name != "PARTS" || c.Env[0].Value != strconv.Itoa(job.Spec.Completions) {
		t.Fatalf("%+v", c.Env)
	}
	archive, whole := clusterArchive(t)
	reports := t.TempDir()
	line := strings.NewReplacer("/archive ", archive+" ", "/reports/", reports+"/").Replace(c.Args[0])
	parts(t, job.Spec.Completions, whole, reports, func(i int) *exec.Cmd {
		x := exec.Command(c.Command[0], c.Command[1], line)
		x.Env = append(os.Environ(), "PARTS="+c.Env[0].Value, "JOB_COMPLETION_INDEX="+strconv.Itoa(i))
		return x
	})
	// A part that can't be verified is a fault, and leaves no report.
	x := exec.Command("sh", "-c", strings.Replace(line, archive, archive+"-not", 1))
	x.Env = append(os.Environ(), "PARTS=8", "JOB_COMPLETION_INDEX=70")
	if out, err := x.CombinedOutput(); err == nil {
		t.Errorf("a part of nothing: %s", out)
	}
}

// TestSlurmArray looks whether bash can read the script, and runs it as Slurm
// does, for arrays that begin with 1 and with 0.
func TestSlurmArray(t *testing.T) {
	bash, err := exec.LookPath("bash")
	if err != nil {
		t.Skip("bash is not installed")
	}
	script := cluster + "verify.slurm"
	if out, err := exec.Command(bash, "-n", script).CombinedOutput(); err != nil {
		t.Fatalf("%s %v", out, err)
	}
	text, err := os.ReadFile(script)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.HasPrefix(text, []byte("#!/bin/bash\n")) || !regexp.MustCompile(`(?m)^#SBATCH --array=\d+-\d+$`).Match(text) {
		t.Error("the script has no array")
	}
	archive, whole := clusterArchive(t)
	for _, first := range []int{0, 1} {
		reports := t.TempDir()
		const n = 3
		parts(t, n, whole, reports, func(i int) *exec.Cmd {
			c := exec.Command(bash, script)
			c.Env = append(os.Environ(), "ARCHIVE="+archive, "REPORTS="+reports, "SLURM_CPUS_PER_TASK=2", fmt.Sprintf("SLURM_ARRAY_TASK_COUNT=%d", n),
				fmt.Sprintf("SLURM_ARRAY_TASK_MIN=%d", first), fmt.Sprintf("SLURM_ARRAY_TASK_ID=%d", first+i))
			return c
		})
	}
	c := exec.Command(bash, script)
	c.Env = append(os.Environ(), "SLURM_ARRAY_TASK_ID=1")
	if out, err := c.CombinedOutput(); err == nil || !strings.Contains(string(out), "ARCHIVE: is to name the folder of the archive") {
		t.Errorf("%s %v", out, err)
	}
}
